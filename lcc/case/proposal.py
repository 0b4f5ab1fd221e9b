"""The parties and terms that a proposal prints beside the figures; they change no figure."""

import datetime
from dataclasses import dataclass
from typing import Annotated

from lcc.case.fields import CasePart, Text, facts_of
from lcc.case.logo import logo
from lcc.errors import CaseError

LINES = "lines"  # kind of a text that may have several lines
DAY = "Year, month, day, such as 2027-04-01."
MOST_LINES = 12

# Fields are laid out by hand, to be read as a table.
# fmt: off


@dataclass(frozen=True)
class Proposal(CasePart):
    """The parties and the terms of a proposal; what is left empty is printed as a blank line."""

    company: Annotated[str, Text("Company", high=80)] = ""
    company_address: Annotated[str, Text("Company's address and telephone", high=120)] = ""
    licence: Annotated[str, Text("Company's license number", high=60)] = ""
    logo: Annotated[str, Text(
        "Logo", kind="file", high=270_000,
        help="A PNG or an SVG drawn with paths, at most 200 kB.")] = ""
    owner: Annotated[str, Text("Owner", high=80)] = ""
    owner_address: Annotated[str, Text("Owner's address", high=120)] = ""
    address: Annotated[str, Text("Address of the building", high=120)] = ""
    number: Annotated[str, Text("Proposal number", high=40)] = ""
    date: Annotated[str, Text("Date of the proposal", high=10, help=DAY)] = ""
    valid_until: Annotated[str, Text("Valid until", high=10, help=DAY)] = ""
    recommended: Annotated[str, Text(
        "The letter is for", high=200,
        help="The name of an alternative or of the base case. Left empty: the alternative of the "
        "headline. Where it is not what costs least of all, the letter says so.")] = ""
    includes: Annotated[str, Text("The price includes", kind=LINES, high=600)] = ""
    excludes: Annotated[str, Text("The price does not include", kind=LINES, high=600)] = ""
    terms: Annotated[str, Text(
        "Terms", kind=LINES, high=1200, help="Payment, start, duration, warranty.")] = ""

    def __post_init__(self) -> None:
        super().__post_init__()
        for name, facts in facts_of(Proposal).items():
            count = getattr(self, name).count("\n") + 1
            if facts.kind == LINES and count > MOST_LINES:
                raise CaseError(name, f"{count} lines", f"at most {MOST_LINES} lines")
        logo(self.logo)
        day("date", self.date)
        day("valid_until", self.valid_until)


def day(name: str, value: str) -> datetime.date | None:
    """Return the date of a text, or None for an empty one.

    Examples
    --------
    >>> day("date", "2027-04-01")
    datetime.date(2027, 4, 1)
    >>> day("date", "1 April")
    Traceback (most recent call last):
    lcc.errors.CaseError: date is '1 April'; allowed: a date such as 2027-04-01
    """
    try:
        return datetime.datetime.strptime(value, "%Y-%m-%d").date() if value else None
    except ValueError:
        raise CaseError(name, value, "a date such as 2027-04-01") from None
