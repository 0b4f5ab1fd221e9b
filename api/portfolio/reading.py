"""A file of roofs, text or spreadsheet, as a table and its header."""

from __future__ import annotations

from typing import BinaryIO

from api import units
from api.portfolio import spreadsheets, text_tables
from api.portfolio.check import Checker
from api.portfolio.faults import refuse
from api.portfolio.headers import known_cells, read_header

# The first bytes of files that people may take for a table, and what to say of them.
_NO_TABLE = {
    b"%PDF": "a PDF",
    b"\xd0\xcf\x11\xe0": "an old .xls or a locked workbook; save it as .xlsx or .csv",
    b"\x1f\x8b": "a compressed file",
}


def open_table(
    file: BinaryIO,
    system: units.System = "ip",
    decimal: str = "auto",
    ignore_unknown: bool = False,
) -> Checker:
    """Return the checker of a file of roofs, its header read.

    Parameters
    ----------
    file : binary file
        Seekable; left open, and read again for each pass.
    system : {"ip", "si"}
        Unit system of columns whose title names no unit.
    decimal : {"auto", "point", "comma"}
        Decimal mark of a text file; "auto" takes a comma where semicolons part the cells.
    ignore_unknown : bool
        Whether columns that are not understood are passed over rather than refused.

    Raises
    ------
    TableError
        If the file is no table, or for every fault of its header.
    """
    file.seek(0)
    start = file.read(4)
    for mark, what in _NO_TABLE.items():
        if start.startswith(mark):
            raise refuse(f"a CSV or XLSX file; this is {what}", status=415)
    if start.startswith(spreadsheets.SIGNATURE):
        table = spreadsheets.read(file)
    else:
        table = text_tables.read(file, known_cells, decimal)
    return Checker(table, read_header(table, system, ignore_unknown))
