"""All figures of an answer as tables to take away: one CSV, or a spreadsheet with a sheet each."""

from __future__ import annotations

from collections.abc import Sequence

from api import service
from api.portfolio.tables_out import Cell, as_csv, as_xlsx
from lcc import units
from web import answer_tables, first_screen, measures_table
from web.answer import Answer
from web.charts import Reply, Table
from web.quantities_table import Takeoff

Rows = list[Sequence[Cell]]


def sheets(answered: Answer) -> dict[str, Rows]:
    """Return the rows of every sheet by its title: the answer and what to beware of lead."""
    reply = answered.reply
    found = {
        "Answer": _answer(answered),
        "Cash flow": _cash_flow(reply),
        "Costs": _costs(reply),
        "Programme": _rows(answer_tables.programme(reply).table),
        "Measures": _measures(reply),
        "Scope": _scope(reply),
        "Quotations": [row for one in answer_tables.quotations(reply) for row in _rows(one.table)],
        "Assumptions": _assumptions(reply),
    }
    found = {title: rows for title, rows in found.items() if rows}
    for one in answered.takeoffs:
        found[f"Quantities {one.id.removeprefix('takeoff-')}"] = _quantities(one)
    return found


def csv(answered: Answer) -> bytes:
    """Return every sheet in one CSV text, each under its title."""
    rows: Rows = []
    for title, sheet in sheets(answered).items():
        rows += [[title], *sheet, []]
    return as_csv(rows)


def xlsx(answered: Answer) -> bytes:
    """Return every sheet in one spreadsheet."""
    return as_xlsx(sheets(answered))


def _answer(answered: Answer) -> Rows:
    reply = answered.reply
    demo = len(first_screen.numbers(reply, "demo"))
    rows: Rows = [["What", "Figure"], ["Case", reply["name"]],
                  ["Answer", answered.headline]]  # fmt: skip
    rows += [[one.label, f"{one.text} ({one.note})"] for one in answered.keys]
    rows += [["Invented demo figures in it", demo]] if demo else []
    rows += [["Caution", caution] for caution in reply["cautions"]]
    rows += [["Note", note] for note in reply["notes"]]
    return rows + [[name.replace("_", " "), text] for name, text in service.versions().items()]


def _scope(reply: Reply) -> Rows:
    head = ["Duty", "Alternative", "Status", "Cost of all jobs, $", "Cost in the first job, $",
            "Why", "Source"]  # fmt: skip
    return [head, *(
        [row["duty"], one["name"], one["status"], one["cost"], one["first_cost"], one["reason"],
         one["source"]]
        for row in reply["scope"] for one in row["alternatives"]
    )]  # fmt: skip


def _cash_flow(reply: Reply) -> Rows:
    roofs = reply["alternatives"]
    head = ["Year"]
    for one in roofs:
        head += [f"{one['name']}: spent, $", f"{one['name']}: spent so far, today’s money, $"]
    columns = [one[key] for one in roofs for key in ("cash_flow", "cumulative_present_value")]
    return [head, *([year, *line] for year, line in enumerate(zip(*columns, strict=True)))]


def _costs(reply: Reply) -> Rows:
    years = range(len(reply["alternatives"][0]["cash_flow"]))
    head: list[Cell] = ["Alternative", "Cost", "Present value, $", *(f"Year {n}, $" for n in years)]
    return [head, *([one["name"], cost["name"], cost["present_value"], *cost["by_year"]]
                    for one in reply["alternatives"] for cost in one["costs"])]  # fmt: skip


def _measures(reply: Reply) -> Rows:
    head = ["Measure", *(one["name"] for one in reply["alternatives"])]
    return [head, *([line.label, *(_with_note(cell) for cell in line.cells)]
                    for line in measures_table.lines(reply))]  # fmt: skip


def _with_note(cell: measures_table.Cell) -> str:
    return f"{cell.text} ({cell.note})" if cell.note else cell.text


def _assumptions(reply: Reply) -> Rows:
    head = ["Field", "Figure", "Value", "Unit", "Basis", "Source"]
    return [head, *(
        [one["field"], one["label"], *_value(one, reply["units"]), one["basis"], one["source"]]
        for one in reply["assumptions"]
    )]  # fmt: skip


def _value(one: Reply, system: units.System) -> tuple[Cell, str]:
    """Return a value with its unit, thicknesses as people read them."""
    value, kind = one["value"], one["kind"]
    if kind == "thickness" and isinstance(value, int | float):
        return units.as_read(value, kind, system), units.unit_read(kind, system).text
    return value, one.get("unit") or ""


def _quantities(one: Takeoff) -> Rows:
    rows: Rows = [["Retrofit", one.name], *_rows(one.lines)]
    for title, table in one.tables:
        rows += [[], [title], *_rows(table)]
    return rows


def _rows(table: Table) -> Rows:
    return [table.columns, *table.rows]
