"""What is wrong with a table of roofs, by line, column, value and rule."""

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass

SHOWN_CHARACTERS = 80


@dataclass(frozen=True)
class RowFault:
    """One thing that cannot be used: where it stands, what it says and what would be accepted.

    `line` is the line of the file on which the record starts (the row of a spreadsheet), `record`
    counts rows of roofs from 1; both are 0 for a fault of the file as a whole.
    """

    rule: str
    line: int = 0
    record: int = 0
    column: str = ""
    letter: str = ""
    value: str = ""

    def __str__(self) -> str:
        cell = f"column {self.letter} ({self.column})" if self.letter else self.column
        record = f"row {self.record}" if self.record else ""  # of JSON, which has no lines
        row = f"line {self.line}" if self.line else record
        place = ", ".join(part for part in (row, cell) if part)
        shown = f": {shorten(self.value)!r}" if self.value else ""
        return f"{place}{shown}: {self.rule}" if place or shown else self.rule


MOST_VALUES = 5


@dataclass(frozen=True)
class FaultGroup:
    """Faults of one kind in one column: how many, and the commonest values."""

    column: str
    rule: str
    count: int
    values: tuple[tuple[str, int], ...]

    def __str__(self) -> str:
        shown = ", ".join(f"{value!r} ({count:,})" for value, count in self.values if value)
        return f"{self.count:,} in {self.column or 'the row'}: {self.rule}" + (
            f"; such as {shown}" if shown else ""
        )


class FaultKinds:
    """Counts faults by kind as they come."""

    def __init__(self) -> None:
        self._values: dict[tuple[str, str], Counter[str]] = {}

    def add(self, faults: Iterable[RowFault]) -> None:
        """Count some faults; what follows a semicolon in a rule is about the value alone."""
        for fault in faults:
            kind = (fault.column, fault.rule.split(";")[0])
            self._values.setdefault(kind, Counter())[shorten(fault.value)] += 1

    def groups(self) -> tuple[FaultGroup, ...]:
        """Return the kinds of fault, the commonest first."""
        found = [
            FaultGroup(column, rule, count.total(), tuple(count.most_common(MOST_VALUES)))
            for (column, rule), count in self._values.items()
        ]
        return tuple(sorted(found, key=lambda one: -one.count))


class TableError(Exception):
    """A table that cannot be read at all, with everything that is wrong with it.

    Parameters
    ----------
    faults : iterable of RowFault
        At least one.
    status : int
        HTTP status that fits: 422 for contents, 413 for size, 415 for the kind of file.
    """

    def __init__(self, faults: Iterable[RowFault], status: int = 422) -> None:
        self.faults = tuple(faults)
        self.status = status
        super().__init__("; ".join(map(str, self.faults)))


class TooManyRows(TableError):  # noqa: N818 (named as the problem type is)
    """More rows than one request may have."""

    def __init__(self, rule: str) -> None:
        super().__init__([RowFault(rule)])


def refuse(rule: str, status: int = 422, **place: object) -> TableError:
    """Return the refusal of a table for one reason."""
    return TableError([RowFault(rule, **place)], status)  # type: ignore[arg-type] # fields of RowFault


def shorten(value: str) -> str:
    """Return `value` cut to what a message can hold.

    Examples
    --------
    >>> len(shorten("x" * 500))
    80
    """
    return value if len(value) <= SHOWN_CHARACTERS else value[: SHOWN_CHARACTERS - 3] + "..."
