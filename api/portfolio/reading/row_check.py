"""Records of text as a frame for the core, with a fault for every cell that cannot be used."""

from collections.abc import Iterator
from dataclasses import dataclass, field
from itertools import islice
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from api.portfolio.reading.cells import CellError, Reader, place_reader, reader_of
from api.portfolio.reading.data_table import DataTable, Record
from api.portfolio.reading.fault_kinds import RowFault, TableError
from api.portfolio.reading.headers import Header, HeaderCell
from api.portfolio.tables_out import unguarded

CHUNK = 10_000
MAX_BAD = 10_000
MOST_TOLD = 100  # of their faults, where that is too many
NAME_ONCE = "each name once; {} has it too"
NUMBER_ONCE = (
    "each owner's number of a roof once; {} has it too. If it is the building's number, make "
    "it the column building_name"
)


@dataclass(frozen=True)
class Checked:
    """A run of records: the usable ones, and what is wrong with the others.

    `frame` has the columns of `lcc.portfolio.columns` and is indexed by record number; `bad`
    are the other records with their faults.
    """

    frame: pd.DataFrame
    bad: list[tuple[Record, list[RowFault]]]


@dataclass
class Checker:
    """Checks the records of one table, each run after the last.

    Reading a cell is pure, so each distinct text of a column is read once and remembered for
    the run; names and the owner's numbers are remembered for the whole table, since each must be
    unique. Where a building has a column of its own, its roofs may share its number.
    """

    table: DataTable
    header: Header
    seen: dict[tuple[str, str], int] = field(default_factory=dict)
    records: int = 0
    bad: int = 0

    def runs(self, rows: int = CHUNK) -> Iterator[Checked]:
        """Yield the table checked, `rows` records at a time."""
        for chunk in self.table.chunks(rows):
            yield self.check(chunk)

    def check(self, chunk: list[Record]) -> Checked:
        """Return one run of records checked."""
        numbers = range(self.records + 1, self.records + len(chunk) + 1)
        self.records += len(chunk)
        faults: dict[int, list[RowFault]] = {}
        width = self.header.width
        for at, record in enumerate(chunk):
            if len(record.cells) != width and not _fits(record.cells, width):
                rule = f"as many cells as the header has, {width}, not {len(record.cells)}"
                faults[at] = [RowFault(rule, record.line, numbers[at])]
        columns = {
            place.column.attribute: self._column(place, chunk, numbers, faults)
            for place in self.header.places
        }
        frame = pd.DataFrame(
            columns, index=pd.RangeIndex(numbers.start, numbers.stop), dtype=object
        )
        good = np.ones(len(chunk), dtype=bool)
        good[list(faults)] = False
        self.bad += len(faults)
        if self.bad > MAX_BAD:
            rule = f"at most {MAX_BAD:,} rows that cannot be used; the first are listed"
            first = (one for own in faults.values() for one in own)
            raise TableError([RowFault(rule), *islice(first, MOST_TOLD)])
        return Checked(frame[good], [(chunk[at], faults[at]) for at in sorted(faults)])

    def _column(
        self,
        place: HeaderCell,
        chunk: list[Record],
        numbers: range,
        faults: dict[int, list[RowFault]],
    ) -> NDArray[np.object_]:
        at = place.position
        texts = [
            unguarded(record.cells[at].strip()) if at < len(record.cells) else ""
            for record in chunk
        ]
        column = place.column
        if column.name == "climate" and self.table.written:
            read = place_reader(column.facts)
        else:
            read = reader_of(column.facts, place.unit, self.table.marks)
        values, rules = _read_distinct(texts, read, column.required)
        if rule := self._once(column.name):
            rules |= self._repeats(column.name, rule, texts, [record.line for record in chunk])
        for row, rule in rules.items():
            if row not in faults or faults[row][0].column:
                line = chunk[row].line
                fault = RowFault(rule, line, numbers[row], place.title, place.letter, texts[row])
                faults.setdefault(row, []).append(fault)
        return values

    def _once(self, column: str) -> str:
        """Return the rule of a column whose texts each stand once, empty for the others."""
        have = {place.column.name for place in self.header.places}
        if column == "name" and not self.table.written:
            return NAME_ONCE
        if column == "name":  # a mapping has counted the names that are not of one and the same row
            return "each roof once; {} says the same in every column that is read"
        return NUMBER_ONCE if column == "owner_id" and "building_name" not in have else ""

    def _repeats(
        self, column: str, rule: str, texts: list[str], lines: list[int]
    ) -> dict[int, str]:
        firsts = (self.seen.setdefault((column, text), line)
                  for text, line in zip(texts, lines, strict=True))  # fmt: skip
        return {row: rule.format(f"line {first}") for row, first in enumerate(firsts)
                if texts[row] and first != lines[row]}  # fmt: skip


def _fits(cells: list[str], width: int) -> bool:
    """Tell whether a row has the header's cells, but for empty ones at its end."""
    return len(cells) > width and not any(cell.strip() for cell in cells[width:])


def _read_distinct(
    texts: list[str], read: Reader, required: bool
) -> tuple[NDArray[np.object_], dict[int, str]]:
    """Return the values of a column, None where empty or unusable, and the broken rules by row."""
    known: dict[str, Any] = {}
    broken: dict[str, str] = {"": "a value; every building needs it"} if required else {}
    for text in dict.fromkeys(texts):
        if not text:
            continue
        try:
            known[text] = read(text)
        except CellError as error:
            broken[text] = str(error)
    values = np.empty(len(texts), dtype=object)
    values[:] = [known.get(text) for text in texts]
    rules = {}
    if broken.keys() & set(texts):
        rules = {row: broken[text] for row, text in enumerate(texts) if text in broken}
    return values, rules
