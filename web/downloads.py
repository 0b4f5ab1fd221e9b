"""All figures of an answer as tables to take away: one CSV, or a spreadsheet with a sheet each."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Any

from api import service
from api.portfolio.tables_out import Cell, as_csv, as_xlsx
from lcc import units
from lcc.case.fields import case_name, facts_of
from lcc.cost.work import CAPITAL, RESIDUAL
from lcc.results import Chances, EnergyYear, Percentiles, Spread
from lcc.results.energy_year import Condensation, Drying, HotDay, Monthly
from web import answer_tables, first_screen
from web.answer import Answer
from web.charts import Reply, Table
from web.charts.figure import against_base
from web.charts.jobs import jobs
from web.form.form_fields import at
from web.measures_table import ABSOLUTE, AFTER_TAX, AGAINST_BASE
from web.quantities_table import Takeoff

Rows = list[Sequence[Cell]]
PERCENT = ("rate", "fraction")  # shown in percent


def sheets(answered: Answer) -> dict[str, Rows]:
    """Return the rows of every sheet by its title: the answer and what to beware of lead."""
    reply = answered.reply
    found = {
        "Answer": _answer(answered),
        "Cash flow": _cash_flow(reply),
        "Costs": _costs(reply),
        "Programme": _programme(reply),
        "Measures": _measures(reply),
        "Scope": _scope(reply),
        "Quotations": [row for one in answer_tables.quotations(reply) for row in _rows(one.table)],
        "When to begin": _beginnings(reply),
        "Tax by year": _tax(answered),
        "Break-evens": _break_evens(reply),
        "Sensitivities": _swings(reply),
        "What turns it": _turning(reply),
        "Random runs": _runs(reply),
        "Energy": _energy(reply),
        "Assumptions": _assumptions(reply),
    }
    found = {  # to 14 digits: what follows is what a computer's sums leave
        title: [[float(f"{one:.14g}") if isinstance(one, float) else one for one in row]
                for row in rows] for title, rows in found.items() if rows
    }  # fmt: skip
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
    head = ["Work", "Alternative", "Status", "Cost of all jobs, $", "Cost in the first job, $",
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


def _programme(reply: Reply) -> Rows:
    return [["Year", "Alternative", "Work", "Why", "Cost then, today’s prices", "Unit"], *(
        [job.year, one["name"], job.what, job.why, job.cost, "$"]
        for one in reply["alternatives"] for job in jobs(one)
    )]  # fmt: skip


def _measures(reply: Reply) -> Rows:
    """Return every measure of every alternative, with the reason where it has no value."""
    rows: Rows = [["Alternative", "Measure", "Value", "Unit", "How, or why not"]]
    for one in reply["alternatives"]:
        absolute = ((label, one[name], kind) for name, (label, kind, _) in ABSOLUTE.items())
        rows += [[one["name"], label, *_number(value, kind, reply["units"]), ""]
                 for label, value, kind in absolute]  # fmt: skip
        for name, (label, kind, _) in AGAINST_BASE.items():
            if found := (one["measures"] or {}).get(name):
                told = found["reason"] or found["warning"] or found["convention"]
                value = _number(found["value"], kind, reply["units"])
                rows.append([one["name"], label, *value, told])
        if view := one["after_tax"]:
            rows += [[one["name"], label, view[name], "$", ""]
                     for name, label in AFTER_TAX.items() if view[name] is not None]  # fmt: skip
    return rows


def _beginnings(reply: Reply) -> Rows:
    """Return net savings by the year in which each alternative begins."""
    return _under(["Alternative", "Begun in year", "Net savings", "Leak damage added", "Unit"], (
        [one["name"], year, saved, risk, "$"]
        for one in reply["alternatives"] if (begun := one["starting_years"])
        for year, saved, risk in zip(
            begun["years"], begun["net_savings"], begun["leak_risk"], strict=True)
    ))  # fmt: skip


def _tax(answered: Answer) -> Rows:
    """Return what each year deducts from taxable income, and the tax that it saves.

    Notes
    -----
    What a year deducts in all is the tax that it saves over the rate. In the last year it holds
    the residual value, taxed like a sale, less what is not written off yet.
    """
    tax, found = answered.case.economics.tax, answered.reply["alternatives"]
    if tax is None or not tax.rate:
        return []
    rows: Rows = []
    years = range(len(found[0]["cash_flow"]))
    for one in found:
        view = one["after_tax"]
        running = [sum(cost["by_year"][year] for cost in one["costs"]
                       if cost["name"] not in (*CAPITAL, RESIDUAL)) for year in years]  # fmt: skip
        work = view["depreciation_by_year"]
        deducted = [-paid / tax.rate for paid in view["tax_by_year"]]
        sold = [deducted[year] - running[year] - work[year] for year in years]
        lines = {
            "Energy, repairs, upkeep and other yearly costs deducted": running,
            "Cost of work written off or deducted at once": work,
            "Not written off at the end, less the value left, taxed like a sale": sold,
            "Deducted from taxable income in all": deducted,
            "Income tax, saved tax negative": view["tax_by_year"],
            "All costs after tax": view["cash_flow"],
        }
        rows += [[one["name"], line, *by_year] for line, by_year in lines.items()]
    return [["Alternative", "Today’s prices", *(f"Year {year}, $" for year in years)], *rows]


def _break_evens(reply: Reply) -> Rows:
    """Return the value of each input at which an alternative and the base case cost the same."""
    head = ["Alternative", "Field", "Input", "In the case", "Same cost at", "Looked for from", "to",
            "Unit", "Why none, or what to know"]  # fmt: skip
    return _under(head, (
        [own["name"], one["field"], one["label"],
         *_amounts(one, ("current", "value", "least", "most"), reply["units"]), one["reason"] or ""]
        for own in reply["alternatives"] for one in own["break_even"]
    ))  # fmt: skip


def _swings(reply: Reply) -> Rows:
    """Return the net savings at the low and the high end of each input, in dollars."""
    head = ["Alternative", "Field", "Input", "Low", "High", "Unit", "Net savings at low, $",
            "Net savings at high, $", "Basis", "Source"]  # fmt: skip
    return _under(head, (
        [own["name"], one["field"], one["label"], *_amounts(one, ("low", "high"), reply["units"]),
         *(one[name] for name in ("net_savings_low", "net_savings_high", "basis", "source"))]
        for own in reply["alternatives"] for one in own["swings"]
    ))  # fmt: skip


def _turning(reply: Reply) -> Rows:
    """Return what turns the answer besides figures, and the net savings over other periods."""
    found, (base, own) = reply["turning"], against_base(reply)
    saved = base["life_cycle_cost"] - own["life_cycle_cost"]
    turns = [[one["alternative"], one["what"], one["net_savings"], "$"] for one in found["choices"]]
    turns += [
        [found["alternative"], f"{one['study_period']} years counted", one["net_savings"], "$"]
        for one in found["study_periods"] if one["net_savings"] * saved < 0
    ]  # fmt: skip
    return _under(["Alternative", "What changes", "Net savings then", "Unit"], turns)


def _runs(reply: Reply) -> Rows:
    """Return what the random runs make of every alternative."""
    parts: tuple[tuple[str, str, type], ...] = (
        ("All runs", "", Spread), ("Life-cycle cost", "life_cycle_cost", Percentiles),
        ("Against the base case", "against_base", Chances),
        ("Net savings", "against_base.net_savings", Percentiles),
    )  # fmt: skip
    return _listed(reply, "spread", parts)


def _energy(reply: Reply) -> Rows:
    """Return the typical year of every state of every roof: energy, hot day, dew."""
    parts: tuple[tuple[str, str, type], ...] = (
        ("The year", "", EnergyYear), ("By month", "monthly", Monthly),
        ("Hot day, by hour", "hot_day", HotDay), ("Dew", "condensation", Condensation),
        ("Dew, old roof drying", "condensation.drying", Drying),
    )  # fmt: skip
    return _listed(reply, "energy", parts)


def _listed(reply: Reply, member: str, parts: Sequence[tuple[str, str, type]]) -> Rows:
    """Return every number of some parts of an alternative, each in a row with its unit."""
    head = ["Alternative", "Roof", "Part", "Figure", "Number", "Value", "Unit"]
    rows: Rows = []
    for own in reply["alternatives"]:
        found = own[member] or ()
        for one in found if isinstance(found, list) else filter(None, [found]):
            for told, path, kind in parts:
                part = at(one, path.split(".")) if path else one
                about = [own["name"], one.get("assembly", ""), told]
                rows += [[*about, *figure] for figure in _numbers(part or {}, kind, reply["units"])]
    return _under(head, rows)


def _numbers(part: Mapping[str, Any], kind: type, system: units.System) -> Iterator[Sequence[Cell]]:
    """Yield label, place in its list, value and unit of each number of a part of a reply."""
    for attribute, facts in facts_of(kind).items():
        value = part.get(case_name(attribute, facts))
        several = isinstance(value, list)
        for place, one in enumerate(value if isinstance(value, list) else [value], 1):
            if type(one) in (int, float):
                yield facts.label, place if several else None, *_number(one, facts.kind, system)


def _amounts(one: Reply, names: Sequence[str], system: units.System) -> Sequence[Cell]:
    """Return amounts of one kind as numbers, and their unit."""
    kind = one[names[0]]["kind"]
    read = [_number(one[name] and one[name]["value"], kind, system) for name in names]
    return *(value for value, _ in read), read[0][1]


def _number(value: Any, kind: str, system: units.System) -> tuple[Cell, str]:
    """Return a number and its unit as people read both."""
    if kind in PERCENT:
        return None if value is None else 100 * value, "%"
    if kind == "years" or not kind:
        return value, kind
    unit = units.unit_read(kind, system).display
    return None if value is None else units.as_read(value, kind, system), unit


def _under(head: Sequence[Cell], rows: Iterable[Sequence[Cell]]) -> Rows:
    """Return rows under their head, nothing where there are none."""
    found = list(rows)
    return [head, *found] if found else []


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
