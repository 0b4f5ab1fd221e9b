"""How a weather file comes with the form of a live page."""

from __future__ import annotations

from typing import IO
from urllib.parse import parse_qsl

import flask
from werkzeug.datastructures import FileStorage, MultiDict
from werkzeug.formparser import FormDataParser

TEXT = "site.weather.text"  # the entry that holds the file
FORM_AND_WEATHER = "application/x-form-and-weather"

Parsed = tuple[IO[bytes], MultiDict[str, str], MultiDict[str, FileStorage]]


class _FormParser(FormDataParser):
    """Reads forms; a live page sends its form in one line, its weather file as it is below that.

    In a multipart form the megabyte takes 30 ms to find the end of, at each move of a
    slider.
    """

    def parse(
        self,
        stream: IO[bytes],
        mimetype: str,
        content_length: int | None,
        options: dict[str, str] | None = None,
    ) -> Parsed:
        if mimetype != FORM_AND_WEATHER:
            return super().parse(stream, mimetype, content_length, options)
        line, _, file = stream.read().partition(b"\n")
        form = parse_qsl(line.decode("ascii", "replace"), keep_blank_values=True)
        return stream, self.cls([*form, (TEXT, file.decode("utf-8", "replace"))]), self.cls()


class PageRequest(flask.Request):
    """A request whose form may come with a weather file below it."""

    form_data_parser_class = _FormParser
