"""What a later version leaves out: said in headers (RFC 9745, RFC 8594) and in the document."""

from dataclasses import dataclass
from datetime import datetime

from werkzeug.http import http_date


@dataclass(frozen=True)
class Deprecated:
    """A call that goes: since when that is known, until when it answers, what to use instead."""

    since: datetime
    until: datetime
    instead: str

    @property
    def headers(self) -> dict[str, str]:
        """The headers of its answers.

        Examples
        --------
        >>> from datetime import UTC
        >>> years = (datetime(year, 1, 1, tzinfo=UTC) for year in (2027, 2028))
        >>> old = Deprecated(*years, instead="/v2")
        >>> old.headers["Deprecation"], old.headers["Sunset"]
        ('@1798761600', 'Sat, 01 Jan 2028 00:00:00 GMT')
        """
        return {
            "Deprecation": f"@{self.since.timestamp():.0f}",
            "Sunset": http_date(self.until),
            "Link": f'<{self.instead}>; rel="successor-version"',
        }


# By method and address, as the document writes it. Nothing goes at present.
DEPRECATED: dict[tuple[str, str], Deprecated] = {}
