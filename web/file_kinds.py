"""What a file is that somebody chose by mistake, in words."""

_SIGNS = (
    (b"\x89PNG", "a picture (PNG)"),
    (b"\xff\xd8\xff", "a picture (JPEG)"),
    (b"GIF8", "a picture (GIF)"),
    (b"%PDF", "a PDF"),
    (b"PK\x03\x04", "a spreadsheet, a document or a ZIP archive"),
    (b"\xd0\xcf\x11\xe0", "an older spreadsheet or document"),
    (b"<!doctype", "a web page"),
    (b"<html", "a web page"),
    (b"{", "a JSON file"),
    (b"LOCATION,", "a weather file (EPW)"),
)


def kind_of(content: bytes) -> str:
    r"""Return what kind of file some content is of.

    Examples
    --------
    >>> kind_of(b"%PDF-1.7 ..."), kind_of(b"LOCATION,Laredo,TX"), kind_of(b"\x00\x01")
    ('a PDF', 'a weather file (EPW)', 'a file that holds no text')
    >>> kind_of(b"name,area"), kind_of(b" ")
    ('a table or other text', 'an empty file')
    """
    start = content.lstrip(b"\xef\xbb\xbf \r\n\t")[:64]
    found = (words for sign, words in _SIGNS if start.lower().startswith(sign.lower()))
    if not start:
        return "an empty file"
    return next(found, "a file that holds no text" if b"\0" in content[:4096] else
                "a table or other text")  # fmt: skip


def is_text(content: bytes) -> bool:
    """Return whether content can be read as text at all."""
    return b"\0" not in content[:4096] and not content.startswith(tuple(s for s, _ in _SIGNS[:6]))
