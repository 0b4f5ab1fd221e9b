"""Buildings taken in, from a table or JSON: the good ones as a frame, the faults of the rest."""

import json
from collections.abc import Iterator, Mapping
from dataclasses import asdict, dataclass
from typing import Any, NamedTuple

import pandas as pd

from api import service
from api.limits import check_time
from api.portfolio.reading.data_table import MAX_RECORDS
from api.portfolio.reading.fault_kinds import (
    FaultGroup,
    FaultKinds,
    RowFault,
    TableError,
    TooManyRows,
    refuse,
    shorten,
)
from api.portfolio.reading.row_check import NAME_ONCE, NUMBER_ONCE, Checker
from api.portfolio.vocabulary import known_words
from api.problems import Problem
from lcc import units
from lcc.errors import MOST_LISTED
from lcc.figures import some_of
from lcc.portfolio.columns import by_attribute, row_class
from lcc.portfolio.owner_records import TO_DO

MOST_FAULTS = 1000
MOST_NAME = 200
MOST_MUSTS = 4  # must-do roofs without a usable row, named one by one


class BadRow(NamedTuple):
    """A row that cannot be used: its number, its line, what it names, and its faults in words.

    `must` is what its owner says must become of the roof, as the row has it.
    """

    record: int
    line: int
    name: str
    told: str
    must: str = ""


@dataclass(frozen=True)
class Intake:
    """What was sent: `good` and `bad` rows add up to `rows`.

    `frame` holds the good rows, numbered from 1 as they were sent; `faults` are the first
    `MOST_FAULTS` of `faults_total`. `year` is the year that ages are counted to, where it is known.
    `mapping_unused` are the words and places of its mapping that the table does not have.
    """

    frame: pd.DataFrame
    rows: int
    bad: int
    faults: tuple[RowFault, ...]
    faults_total: int
    read_as: str
    passed_over: tuple[str, ...] = ()
    bad_rows: tuple[BadRow, ...] = ()
    fault_groups: tuple[FaultGroup, ...] = ()
    year: int | None = None
    mapping_unused: tuple[str, ...] = ()

    @property
    def good(self) -> int:
        """How many rows can be computed."""
        return len(self.frame)

    @property
    def must_refused(self) -> str:
        """Which roofs must be done, whose rows cannot be used; empty where there are none."""
        musts = known_words(by_attribute()["must"].facts)
        lost = [one for one in self.bad_rows if musts.get(one.must) in TO_DO]
        if not lost:
            return ""
        many = "1 must-do roof is in no figure here, because its row"
        if len(lost) > 1:
            many = f"{len(lost):,} must-do roofs are in no figure here, because their rows"
        named = [f"{one.name or f'row {one.record}'} ({one.told})" for one in lost]
        return f"{many} cannot be used: {some_of(named, MOST_MUSTS, '; ')}."

    def document(self) -> dict[str, Any]:
        """Return the counts and faults as a reply lists them."""
        return {
            "read_as": self.read_as,
            "rows": self.rows,
            "good": self.good,
            "bad": self.bad,
            "columns_passed_over": list(self.passed_over),
            "mapping_unused": list(self.mapping_unused[:MOST_LISTED]),
            "faults_total": self.faults_total,
            "fault_groups": [
                {
                    **asdict(group),
                    "values": [{"value": v, "count": count} for v, count in group.values],
                    "text": str(group),
                }
                for group in self.fault_groups
            ],
            "faults": [
                {**asdict(fault), "value": shorten(fault.value), "text": str(fault)}
                for fault in self.faults
            ],
        }


def from_table(checker: Checker) -> Intake:
    """Return the buildings of a table; read to its end before anything is computed."""
    frames: list[pd.DataFrame] = []
    faults: list[RowFault] = []
    bad: list[BadRow] = []
    count, total = FaultKinds(), 0
    places = {one.column.name: one.position for one in checker.header.places}
    for run in checker.runs():
        frames.append(run.frame)
        for record, own in run.bad:
            name, must = (_cell(record.cells, places.get(one)) for one in ("name", "must"))
            bad.append(bad_row(own, record.line, name, must))
            count.add(own)
            total += len(own)
            faults += own[: MOST_FAULTS - len(faults)]
    if not frames:
        raise refuse("the table has no rows under its header")
    return Intake(
        pd.concat(frames), checker.records, len(bad), tuple(faults), total, checker.table.read_as,
        checker.table.passed_over + checker.header.passed_over, tuple(bad), count.groups(),
        checker.table.year, tuple(_unused(checker.table.unused())),
    )  # fmt: skip


def _unused(found: list[tuple[str, str]]) -> Iterator[str]:
    """Yield words and places of a mapping with where they stand in it."""
    for column, text in found:
        yield f"values.{column}: {shorten(text)}" if column else f"places: {shorten(text)}"


def _cell(cells: list[str], at: int | None) -> str:
    return cells[at] if at is not None and at < len(cells) else ""


def bad_row(faults: list[RowFault], line: int, name: str, must: str = "") -> BadRow:
    """Return the report on a row that cannot be used."""
    words = (f"{one.column}: {one.rule}" if one.column else one.rule for one in faults)
    return BadRow(faults[0].record, line, shorten(name.strip()), "; ".join(words), must.strip())


def from_rows(rows: Any, system: units.System) -> Intake:
    """Return the buildings of a list of JSON objects, each named as the columns are.

    Raises
    ------
    TableError
        If it is no such list, or has more than `MOST_FAULTS` faults.
    """
    if not isinstance(rows, list) or not rows:
        raise refuse("a list of at least one object", column="rows")
    if len(rows) > MAX_RECORDS:
        raise TooManyRows(f"at most {MAX_RECORDS:,} rows; send the rest in a request of its own")
    good: dict[int, dict[str, Any]] = {}
    faults: dict[int, list[RowFault]] = {}
    seen: dict[tuple[str, str], int] = {}
    found = 0
    for number, row in enumerate(rows, start=1):
        check_time()
        if found > MOST_FAULTS:
            raise TableError(fault for own in faults.values() for fault in own)
        try:
            values = asdict(service.read(row_class(), _with_climate(row), system))
        except Problem as problem:
            faults[number] = [_fault(number, error) for error in problem.errors]
            found += len(problem.errors)
            continue
        if not values["name"].strip():
            faults[number] = [RowFault("a name; every building needs one", 0, number, "name")]
        elif repeated := _repeated(number, values, seen):
            faults[number] = repeated
        else:
            good[number] = values
    columns = list(row_class().__dataclass_fields__)
    frame = pd.DataFrame.from_dict(good, orient="index", columns=columns, dtype=object)
    count, every = FaultKinds(), [fault for own in faults.values() for fault in own]
    count.add(every)
    bad = [
        bad_row(own, 0, *(_said(rows[number - 1], one) for one in ("name", "must")))
        for number, own in faults.items()
    ]
    return Intake(
        frame.dropna(axis="columns", how="all") if good else frame, len(rows), len(bad),
        tuple(every[:MOST_FAULTS]), len(every), "JSON rows", (), tuple(bad), count.groups(),
    )  # fmt: skip


def _said(row: Any, name: str) -> str:
    return str(row.get(name) or "")[:MOST_NAME] if isinstance(row, dict) else ""


def _with_climate(row: Any) -> Any:
    """Return a row whose climate may be named by its place, as in a table."""
    written = row.get("climate") if isinstance(row, dict) else None
    known = isinstance(written, str) and known_words(by_attribute()["climate"].facts).get(written)
    return {**row, "climate": known} if known else row


def _fault(number: int, error: Mapping[str, Any]) -> RowFault:
    """Return a fault of a JSON row as one of a table has it: the rule that its value breaks."""
    column = str(error["pointer"]).removeprefix("#/").removeprefix("#")
    given = error.get("value")
    of_value = given is not None and error["rule"] in ("key", "range", "text", "type", "unit")
    value = given if isinstance(given, str) else "" if given is None else json.dumps(given)
    rule = str(error["allowed" if of_value else "detail"])
    return RowFault(rule, 0, number, column, "", value)


def _repeated(
    number: int, row: Mapping[str, Any], seen: dict[tuple[str, str], int]
) -> list[RowFault]:
    """Return what a row has that an earlier one has too, where that may stand once."""
    once = {"name": NAME_ONCE} | ({} if row["building_name"] else {"owner_id": NUMBER_ONCE})
    firsts = {one: seen.setdefault((one, row[one]), number) for one in once if row[one]}
    return [
        RowFault(once[one].format(f"row {first}"), 0, number, one, "", row[one])
        for one, first in firsts.items()
        if first != number
    ]
