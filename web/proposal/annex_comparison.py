"""Annex: every alternative side by side, what is done when, the energy, and how sure it is."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from lcc.model_notes import ENERGY_LEAVES_OUT
from web import first_screen, measures_table
from web import format as fmt
from web.answer_tables import costs, phase_rows, phases, quotations, swing_row, turning
from web.charts import Reply, Table
from web.charts.jobs import ChartJob, jobs
from web.energy_table import energy_table
from web.payment_tables import after_tax, beginnings, payments, payments_by_year
from web.proposal.blocks import (
    Block,
    Cell,
    Column,
    as_cell,
    bullets,
    heading,
    marked,
    sheet,
    small,
    table,
    text,
)
from web.proposal.letter import scope_cell, turned
from web.proposal.offer import Offer, alike, with_same

NAME: Column = ("Alternative", 2.0, "left")
YEARS_NAMED = 6  # of one piece of work that are named one by one
COST_LINES = len(measures_table.ABSOLUTE)
ACROSS = 4  # columns of alternatives in a table
PHASES = 8  # of energy, of an alternative that is not proposed
SWINGS = 6  # of an alternative that is not proposed
NOT_ALIKE = "The bids do not cover the same work: the last column says why a choice does without."
BESIDE = 3  # alternatives beside each other in the scope table
NUMBERED = "A number is the place of an alternative in the tables below."


def comparison(offer: Offer) -> Block:
    """Return the annex that compares every alternative."""
    reply = offer.reply
    return sheet(
        offer.title("comparison"),
        [*answered(offer), *_scope(reply), *_measures(reply), *_categories(reply),
         *_programmes(reply), *_energy(offer), *_certainty(offer), *_payments(offer)],
    )  # fmt: skip


def answered(offer: Offer) -> Iterator[Block]:
    """Yield the answer: what to know before it is used, and why; not how sure it is."""
    answer = offer.reply["answer"]
    yield text(first_screen.headline(offer.case, offer.reply))
    if first := (*answer["disagreements"], *answer["conditions"]):
        yield heading("Before you use this answer")
        yield bullets(first)
    yield heading("Why")
    yield bullets(answer["reasons"])


def _scope(reply: Reply) -> Iterator[Block]:
    yield heading("The same duties for every alternative")
    yield small(NOT_ALIKE if reply["scope_note"] else "All do the same.")
    groups = alike(zip(*_duties(reply), strict=True))
    if len(groups) < len(reply["alternatives"]):
        yield small(NUMBERED)
    for start in range(0, len(groups), BESIDE):
        yield scope_table(reply, groups[start : start + BESIDE])
    for told in quotations(reply):
        yield heading(told.title, 3)
        yield text(told.reading)
        sides = ("left", "left", "right", "left", "right", "left")
        columns = zip(told.table.columns, (1.3, 1.0, 0.8, 3.0, 0.8, 0.5), sides, strict=True)
        yield table(list(columns), told.table.rows)
    if reply["questions"]:
        yield heading("Questions to the bidders and the surveyor")
        yield bullets(reply["questions"])


def _duties(reply: Reply) -> list[list[Reply]]:
    """What becomes of each duty in every alternative, without their names."""
    return [[{**one, "name": ""} for one in row["alternatives"]] for row in reply["scope"]]


def scope_table(reply: Reply, groups: Sequence[Sequence[int]]) -> Block:
    """Return every duty in some groups of alternatives that do the same, and why, once."""
    columns: list[Column] = [(_named(reply, *places), 0.9, "left") for places in groups]
    own = [{places[0]: duty[places[0]] for places in groups} for duty in _duties(reply)]
    return table(
        [("Work", 1.2, "left"), *columns, ("Why, with the rule", 2.6, "left")],
        ((row["duty"], *map(_done, found.values()), list(_reasons(found)))
         for row, found in zip(reply["scope"], own, strict=True)),
    )  # fmt: skip


def _named(reply: Reply, first: int, *same: int) -> str:
    name = f"{_number(first)}: {reply['alternatives'][first]['name']}"
    return with_same(name, ", ".join(map(_number, same))) if same else name


def _number(place: int) -> str:
    """What an alternative is called beside its reasons: as on the form and in annex C."""
    return f"{place}" if place else "Base"


def _done(entry: Reply) -> Cell:
    """What a duty costs in the first work, and in all years where that is more."""
    later = entry["cost"] > entry["first_cost"]
    note = f"all years {fmt.shown(entry['cost'], 'money')}" if later else ""
    return {**as_cell(scope_cell(entry)), "note": note}


def _reasons(entries: Mapping[int, Reply]) -> Iterator[Cell]:
    """Each reason once, after the numbers of the alternatives that it is for, unless for all."""
    found: dict[tuple[str, str], list[str]] = {}
    for place, one in entries.items():
        found.setdefault((one["reason"], one["source"]), []).append(_number(place))
    for (reason, source), whose in found.items():
        numbers = f"{', '.join(whose)}: " if len(found) > 1 else ""
        yield marked(f"{numbers}{reason}", note=source)


def _measures(reply: Reply) -> Iterator[Block]:
    lines = measures_table.lines(reply)
    yield heading("What each costs over the study period")
    yield _by_alternative(reply, lines[:COST_LINES], 0)
    yield heading(f"Measured against “{reply['alternatives'][0]['name']}”")
    yield _by_alternative(reply, lines[COST_LINES:], 1)
    yield bullets(
        f"{', '.join(names)}: {said}"
        for said, names in _once(
            (one["payback"]["sentence"], one["name"]) for one in reply["alternatives"][1:]
        )
    )
    counted = [one["convention"] for one in reply["alternatives"][1]["measures"].values()]
    noted = _once(
        ((cell.note, line.label), one["name"])
        for line in lines
        for one, cell in zip(reply["alternatives"], line.cells, strict=True)
        if cell.note and cell.note not in counted
    )
    yield bullets(
        f"{', '.join(labels)}; {names}: {note}."
        for (note, names), labels in _once(
            ((note, ", ".join(names)), label) for (note, label), names in noted
        )
    )
    yield small(f"How each is counted. {_conventions(reply['alternatives'][1]['measures'])}")


def _once(told: Iterable[tuple[Any, str]]) -> list[tuple[Any, list[str]]]:
    """Return each note once, with the names of all that it is about."""
    said = list(told)
    return [(said[places[0]][0], [said[place][1] for place in places])
            for places in alike(one for one, _ in said)]  # fmt: skip


def _conventions(measures: Reply) -> str:
    labels = {name: label for name, (label, *_) in measures_table.AGAINST_BASE.items()}
    found = ((labels.get(name, ""), one["convention"]) for name, one in measures.items())
    return " ".join(f"{label}: {words}." for label, words in found if label and words)


def _by_alternative(reply: Reply, lines: Sequence[measures_table.MeasureRow], first: int) -> Block:
    columns: list[Column] = [("Alternative", 1.5, "left")]
    columns += [(line.label, 1.0, "right") for line in lines]
    rows = [
        (one["name"], *(line.cells[place].text or fmt.NOTHING for line in lines))
        for place, one in enumerate(reply["alternatives"])
    ]
    return table(columns, rows[first:])


def _categories(reply: Reply) -> Iterator[Block]:
    yield heading("Where the money goes, present value")
    yield from _by_columns(costs(reply).table)


def _by_columns(found: Table) -> Iterator[Block]:
    """A table of the page with a column for each alternative, so many at a time."""
    first, *others = found.columns
    for start in range(0, len(others), ACROSS):
        shown = slice(start, start + ACROSS)
        columns: list[Column] = [(first, 1.6, "left")]
        columns += [(name, 1.0, "right") for name in others[shown]]
        rows = [(head, *cells[shown]) for head, *cells in found.rows]
        yield table(columns, rows, dense=True)


@dataclass(frozen=True)
class RepeatedWork:
    """The same job in one year or several."""

    years: tuple[int, ...]
    what: str
    why: str
    cost: float

    @property
    def when(self) -> str:
        """The years as text, many of them by the first few and the last."""
        if len(self.years) <= YEARS_NAMED:
            return ", ".join(map(str, self.years))
        first = ", ".join(map(str, self.years[:3]))
        return f"{first} … {self.years[-1]} ({len(self.years)} times)"


def repeated(done: Iterable[ChartJob]) -> list[RepeatedWork]:
    """Return jobs with those that repeat at the same cost on one line, by first year.

    Examples
    --------
    >>> service = [ChartJob(year, ("Sealant serviced",), "due", 9600.0) for year in (15, 30)]
    >>> [(work.years, work.what) for work in repeated(service)]
    [((15, 30), 'Sealant serviced')]
    """
    years: dict[tuple[str, str, float], list[int]] = {}
    for job in done:
        years.setdefault((job.what, job.why, job.cost), []).append(job.year)
    return [RepeatedWork(tuple(when), *key) for key, when in years.items()]


def _programmes(reply: Reply) -> Iterator[Block]:
    yield heading("When each job comes")
    done = [repeated(jobs(one)) for one in reply["alternatives"]]
    for places in alike(done):
        yield heading(with_same(*(reply["alternatives"][place]["name"] for place in places)), 3)
        yield table(
            [("Year", 0.7, "left"), ("Work", 3.9, "left"), ("Reason", 1.7, "left"),
             ("Cost each time", 0.8, "right")],
            ((work.when, work.what, work.why, fmt.shown(work.cost, "money"))
             for work in done[places[0]]),
        )  # fmt: skip


def _energy(offer: Offer) -> Iterator[Block]:
    reply = offer.reply
    made = energy_table(reply)
    yield heading("Energy in a typical year")
    columns = [("Roof", 1.6, "left"), *((title, 1.0, "right") for title in made.columns[1:])]
    yield table(columns, (cells for _, cells in made.rows))
    yield small(
        "Each line is a roof as it stands for more than a year; the bill is at today’s prices."
    )
    if made.note:
        yield small(made.note)
    if "assumptions" not in offer.parts:
        yield small(ENERGY_LEAVES_OUT)
    yield from _phases(offer)


def _phases(offer: Offer) -> Iterator[Block]:
    """What is saved by phase: of the proposal all, of others so many, and always the average."""
    head = phases(offer.reply).table.columns[1:]
    most = {id(one): PHASES for one in offer.reply["alternatives"] if one is not offer.proposed}
    found = [(one, one["energy_by_phase"]) for one in offer.reply["alternatives"][1:]]
    yield heading(f"Energy saved against “{offer.reply['alternatives'][0]['name']}”, by phase", 3)
    yield table(
        [("Each year of", 3.2, "left"), *((title, 1.0, "right") for title in head)],
        (row for one, energy in found
         for row in ([one["name"]], *phase_rows(energy, most.get(id(one))))),
    )  # fmt: skip
    if any(len(energy["phases"]) > PHASES for one, energy in found if id(one) in most):
        yield small(f"Of other alternatives the first {PHASES} phases; the average is of all.")


def _certainty(offer: Offer) -> Iterator[Block]:
    reply = offer.reply
    drawn = [one for one in reply["alternatives"][1:] if one["spread"]]
    yield heading("How sure it is")
    yield bullets(reply["answer"]["certainty"])
    if drawn:
        yield small("Eight of ten random runs lie between the savings low and high.")
        yield table(
            [NAME, ("Costs less in", 1.0, "right"), ("Net savings, low", 1.0, "right"),
             ("middle", 1.0, "right"), ("high", 1.0, "right")],
            (_spread(one) for one in drawn),
        )  # fmt: skip
    (found,) = turning(reply)
    yield heading(found.title, 3)
    yield text(turned(reply))
    sides = ("left", "right", "right", "right")
    columns = zip(found.table.columns, (2.4, 1.0, 1.2, 1.2), sides, strict=True)
    yield table(list(columns), found.table.rows, dense=True)
    for place, one in enumerate(reply["alternatives"][1:], start=1):
        if one["swings"]:
            yield heading(f"What moves the net savings: {one['name']}", 3)
            yield from _swings(one, reply, None if place in (offer.place, offer.rival) else SWINGS)


def _swings(one: Reply, reply: Reply, most: int | None) -> Iterator[Block]:
    """The inputs that move net savings, the widest first: of the proposal all, of others a few."""
    yield table(
        [("Input", 2.2, "left"), ("From", 0.9, "right"), ("Net savings", 1.0, "right"),
         ("To", 0.9, "right"), ("Net savings", 1.0, "right")],
        (swing_row(swing, reply["units"]) for swing in one["swings"][:most]),
        dense=True,
    )  # fmt: skip
    left = one["swings"][most:] if most else []
    if left:
        yield small(f"{len(left)} more inputs move it less.")


def _spread(one: Reply) -> tuple[str, ...]:
    against = one["spread"]["against_base"]
    saved = against["net_savings"]
    said = [fmt.shown(saved[name], "money") for name in ("p10", "p50", "p90")]
    return one["name"], fmt.chance(against["costs_less"]), *said


def _payments(offer: Offer) -> Iterator[Block]:
    """When to begin, how it is paid, and what is left after tax, as on the page."""
    reply = offer.reply
    for one in (*payments(reply), *beginnings(reply), *after_tax(offer.case, reply)):
        yield heading(one.title)
        yield text(one.reading)
        yield from _by_columns(one.table)
        if one.key == "payments":
            base = reply["alternatives"][0]["name"]
            yield small(f"Paid less than for “{base}”, in the money of each year:")
            yield from _by_columns(payments_by_year(reply))
