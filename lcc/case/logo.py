"""The company's logo: a small PNG or SVG, checked before it is used."""

import base64
import re
import struct
from typing import Any
from xml.etree import ElementTree as Xml

from lcc.errors import CaseError

MOST_BYTES = 200_000
MOST_PIXELS = 2000  # of a side
ALLOWED = (
    f"a PNG or SVG picture of at most {MOST_BYTES // 1000} kB, at most {MOST_PIXELS} pixels a side"
)
_PNG = b"\x89PNG\r\n\x1a\n"
# What an SVG picture is drawn with. Pictures in it, scripts, styles and links stay out, copies
# (which can multiply without bound) and text (whose font is not here) too.
_DRAWN = {
    "svg", "g", "path", "rect", "circle", "ellipse", "line", "polyline", "polygon", "defs",
    "linearGradient", "radialGradient", "stop", "clipPath", "title", "desc",
}  # fmt: skip
_ELSEWHERE = re.compile(r"url\(\s*['\"]?(?!#)", re.IGNORECASE)


def logo(text: str) -> dict[str, Any] | None:
    """Return the logo for the template, or None without one.

    Parameters
    ----------
    text : str
        The picture's bytes in base64, with or without ``data:image/png;base64,`` before them.

    Raises
    ------
    lcc.errors.CaseError
        For what is no PNG or SVG, is too large, or refers to another file or host.
    """
    if not text:
        return None
    picture = _decoded(text)
    if picture.startswith(_PNG):
        size = struct.unpack(">II", picture[16:24]) if len(picture) > 33 else (0, 0)
        if not 0 < max(size) <= MOST_PIXELS:
            raise _refused(f"a PNG of {size[0]} by {size[1]} pixels")
        return {"format": "png", "svg": "", "bytes": list(picture), "alt": "Logo"}
    return {"format": "svg", "svg": _svg(picture), "bytes": [], "alt": "Logo"}


def with_logo(document: dict[str, Any], picture: bytes) -> dict[str, Any]:
    """Return a case document with the bytes of a picture as the logo of its proposal."""
    given = document.get("proposal")
    own = given if isinstance(given, dict) else {}
    return {**document, "proposal": {**own, "logo": base64.b64encode(picture).decode()}}


def _refused(why: str) -> CaseError:
    detail = f"The logo cannot be used: the file is {why}. Choose {ALLOWED}."
    return CaseError("logo", why, ALLOWED, detail=detail)


def _decoded(text: str) -> bytes:
    body = text.partition("base64,")[2] if text.startswith("data:") else text
    if len(body) > MOST_BYTES * 4 // 3 + 8:
        raise _refused(f"about {len(body) * 3 // 4000} kB")
    try:
        return base64.b64decode("".join(body.split()), validate=True)
    except ValueError:  # letters beyond ASCII raise no binascii.Error
        raise _refused("a text that is not base64") from None


def _svg(picture: bytes) -> str:
    """The picture rewritten from allowed parts only, so that nothing else of it is read."""
    try:
        words = picture.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise _refused("neither a PNG nor an SVG in UTF-8") from None
    if "<!DOCTYPE" in words or "<!ENTITY" in words:
        raise _refused("an SVG with a DOCTYPE or ENTITY: save it as plain SVG")
    try:
        root = Xml.fromstring(words)
    except (Xml.ParseError, ValueError, LookupError):
        raise _refused("neither a PNG nor an SVG") from None
    if _plain(root.tag) != "svg":
        raise _refused("neither a PNG nor an SVG")
    for element in root.iter():
        if _plain(element.tag) not in _DRAWN:
            raise _refused(f"an SVG with <{_plain(element.tag)}>: save it with paths only")
        for name, value in element.attrib.items():
            linked = _plain(name) == "href" and not value.startswith("#")
            if linked or _ELSEWHERE.search(value):
                raise _refused("an SVG that refers to another file")
    Xml.register_namespace("", "http://www.w3.org/2000/svg")
    return Xml.tostring(root, encoding="unicode")


def _plain(tag: Any) -> str:
    return str(tag).rpartition("}")[2]
