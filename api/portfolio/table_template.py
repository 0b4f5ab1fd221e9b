"""The template, the data dictionary and the file of bad rows, from the facts of the columns."""

from collections.abc import Iterator

from api.portfolio.intake import bad_row
from api.portfolio.reading.cells import allowed
from api.portfolio.reading.headers import PASSED_OVER, other_titles, plain, title_of, unit_of
from api.portfolio.reading.row_check import Checker
from api.portfolio.tables_out import Cell
from lcc import tables, units
from lcc.case import Case, Membrane, MetalRetrofit
from lcc.portfolio.columns import Column, columns
from lcc.portfolio.rows import template


def template_rows(system: units.System) -> Iterator[list[Cell]]:
    """Yield the header that a table of roofs may have, required columns first."""
    yield [title_of(column, system) for column in columns()]


def dictionary_rows(system: units.System) -> Iterator[list[Cell]]:
    """Yield what each column means, may hold, and takes when it is left out."""
    yield [
        "column", "needed", "meaning", "unit", "allowed", "when_left_out", "source",
        "titles_in_other_units",
    ]  # fmt: skip
    for column in columns():
        facts = column.facts
        unit = unit_of(column, system)
        meaning = f"{facts.label}. {facts.help}" if facts.help else facts.label
        left_out, source = when_left_out(column, system)
        yield [
            title_of(column, system),
            "yes" if column.required else "no",
            meaning,
            unit.display,
            _allowed(column, unit),
            left_out,
            source,
            " | ".join(other_titles(column, system)),
        ]


def _allowed(column: Column, unit: units.Unit) -> str:
    facts = column.facts
    if facts.type == "key":
        if facts.table == "climates":
            return f"{' | '.join(tables.keys('climates'))}, or a place such as Tulsa, OK"
        named = tables.rows(facts.table).items()
        return " | ".join(f"{key} ({row['name']})" for key, row in named) + ": key or name"
    if facts.type == "choice":
        return " | ".join(facts.options)
    if facts.type in ("quantity", "whole"):
        return allowed(facts, unit)
    once = {"name": ", each once", "owner_id": ", each once unless there is a building_name"}
    return "a text" + once.get(column.name, "")


def when_left_out(
    column: Column, system: units.System, case: Case | None = None
) -> tuple[str, str]:
    """Return what a building takes when a column is left out, and the source of that.

    `case` is what came with the table for what its rows do not say, the template without one.
    """
    if column.required:
        return "", ""
    value = _of_template(column, case or template())
    facts = column.facts
    if value is None:
        return facts.when_unset, f"{facts.basis}: {facts.source}" if facts.source else ""
    if isinstance(value, float):
        value = value / unit_of(column, system).factor
    source = f"{facts.basis}: {facts.source}" if facts.source else facts.basis
    return f"{value:g}" if isinstance(value, float) else str(value), source


def _of_template(column: Column, case: Case) -> object:
    if not column.path:
        return None
    parts = {
        "retrofit": next(
            (one for one in case.alternatives if isinstance(one, MetalRetrofit)), MetalRetrofit()
        ),
        "base_case": case.base_case if isinstance(case.base_case, Membrane) else Membrane(),
    }
    value: object = parts.get(column.path[0], case)
    for step in column.path[1:] if column.path[0] in parts else column.path:
        value = getattr(value, step)
    return value


def bad_rows(checker: Checker) -> Iterator[list[Cell]]:
    """Yield the table again, only rows with faults, and what is wrong with them at the end.

    The titles are the file's own, so that the table can be corrected and sent again.
    """
    titles = checker.table.header
    kept = [at for at, title in enumerate(titles) if plain(title) not in PASSED_OVER]
    yield [*(titles[at] for at in kept), *PASSED_OVER]
    for run in checker.runs():
        for record, faults in run.bad:
            cells = dict(enumerate(record.cells))
            yield [*(cells.get(at, "") for at in kept), record.line, bad_row(faults, 0, "").told]
