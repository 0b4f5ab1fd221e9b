"""From a document of plain data to a PDF: one template, fonts that ship with it, and no browser."""

import datetime
import json
import re
import struct
import unicodedata
from collections.abc import Mapping
from functools import cache
from pathlib import Path
from typing import Any

import typst

HERE = Path(__file__).parent
FONTS = HERE / "fonts"
TEMPLATE = HERE / "template"
UNKNOWN = "\N{WHITE SQUARE}"  # stands for a letter that the font does not have
_LONG = re.compile(r"[^\s\u200b-]{19,}")  # a word that a line may end in


def typeset(document: Mapping[str, Any], date: datetime.date | None = None) -> bytes:
    """Return a document as a tagged PDF (PDF/UA-1), the same bytes on every machine.

    Parameters
    ----------
    document : mapping
        What the template prints: every text is printed as it stands and never read as markup.
    date : datetime.date, optional
        Date of the paper, which becomes the file's own; without it the file has none.

    Notes
    -----
    Only the template's folder can be read, and no package is fetched. A letter that the font
    lacks is refused by the standard, so `printable` must have replaced it before.
    """
    words = {**printable(document), "dated": date is not None}
    compiler = typst.Compiler(
        input=_main(json.dumps(words, ensure_ascii=False)).encode(),
        root=str(TEMPLATE),
        font_paths=_fonts(),
        ignore_system_fonts=True,
    )
    made = compiler.compile(format="pdf", pdf_standards="ua-1", timestamp=_noon(date))
    assert isinstance(made, bytes)
    return made


def _main(words: str) -> str:
    r"""Return the source that prints a document: its JSON stands between quotes, as one text.

    Notes
    -----
    Inputs of the compiler's own would do too, but then nothing set before is ever used again.

    Examples
    --------
    >>> print(_main('{"owner": "A #x"}'))
    #import "paper.typ": print
    #print(json(bytes("{\"owner\": \"A #x\"}")))
    """
    quoted = words.replace("\\", "\\\\").replace('"', '\\"')
    return f'#import "paper.typ": print\n#print(json(bytes("{quoted}")))'


def _noon(date: datetime.date | None) -> int | None:
    if date is None:
        return None
    noon = datetime.datetime(date.year, date.month, date.day, 12, tzinfo=datetime.UTC)
    return int(noon.timestamp())


@cache
def _fonts() -> typst.Fonts:
    return typst.Fonts(
        include_system_fonts=False, include_embedded_fonts=False, font_paths=[str(FONTS)]
    )


def printable(value: Any) -> Any:
    r"""Return plain data with every text as the font can print it.

    Notes
    -----
    Control and direction marks go, other letters that the font lacks become a square, and a long
    word may end its line. Drawings, under the name ``svg``, stay as they are.

    Examples
    --------
    >>> printable({"owner": "Cafe\u0301 \u6771\u4eac \u202eabc\x00"})
    {'owner': 'Café □□ abc'}
    >>> printable({"svg": "<svg/>", "wide": 3.5})
    {'svg': '<svg/>', 'wide': 3.5}
    """
    if isinstance(value, str):
        return _text(value)
    if isinstance(value, Mapping):
        return {name: one if name == "svg" else printable(one) for name, one in value.items()}
    return [printable(one) for one in value] if isinstance(value, list | tuple) else value


def unprintable(text: str) -> bool:
    """Tell whether a text has letters that the font lacks."""
    return UNKNOWN in _letters(text)


def _text(value: str) -> str:
    return _LONG.sub(lambda found: "\u200b".join(re.findall(".{1,5}", found[0])), _letters(value))


def _letters(value: str) -> str:
    known, composed = _known(), unicodedata.normalize("NFC", value)
    if known.issuperset(composed):
        return composed
    found = []
    for letter in composed:
        if letter in "\n\u200b" or letter in known:
            found.append(letter)
        elif letter.isspace():
            found.append(" ")
        elif unicodedata.category(letter) not in ("Cc", "Cf", "Mn", "Cs"):
            found.append(UNKNOWN)
    return "".join(found)


@cache
def _known() -> frozenset[str]:
    """The letters that every weight of the font has."""
    return frozenset.intersection(*(_letters_of(path) for path in sorted(FONTS.glob("*.otf"))))


def _letters_of(path: Path) -> frozenset[str]:
    """Read the letters of an OpenType font: the groups of its character map of format 12."""
    font = path.read_bytes()
    count = struct.unpack_from(">H", font, 4)[0]
    places = (struct.unpack_from(">4sIII", font, 12 + 16 * n) for n in range(count))
    cmap = next(offset for tag, _, offset, _ in places if tag == b"cmap")
    maps = struct.unpack_from(">H", font, cmap + 2)[0]
    at = [cmap + struct.unpack_from(">I", font, cmap + 8 + 8 * n)[0] for n in range(maps)]
    wide = next(start for start in at if struct.unpack_from(">H", font, start)[0] == 12)
    groups = struct.unpack_from(">I", font, wide + 12)[0]
    ranges = (struct.unpack_from(">II", font, wide + 16 + 12 * n) for n in range(groups))
    return frozenset(chr(code) for first, last in ranges for code in range(first, last + 1))
