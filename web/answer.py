"""A case document answered: everything that the page and the proposal show of it."""

from __future__ import annotations

import re
from collections.abc import Callable, Collection, Iterable, Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property, partial
from typing import Any

from markupsafe import Markup

from api import service
from api.problems import Problem
from lcc import units
from lcc.case import Case
from web import answer_tables, charts, first_screen, measures_table, payment_tables
from web.answer_tables import Told
from web.assumptions_table import Rests, rests
from web.caution_list import caution_groups
from web.charts import Figure, Reply, svg
from web.drawings.roof_section import Drawing, drawings
from web.energy_table import EnergyTable, energy_table
from web.form.form_fields import Document, at, described
from web.form.form_units import to_entry
from web.quantities_table import Takeoff, takeoffs

Calculate = Callable[..., Any]
LONGEST_REMARK = 220  # letters beside the headline
MOST_LEADS, LONGEST_LEAD = 3, 80  # of the remarks, letters of each
BEFORE_COLON = re.compile(r"(“[^”]*”|[^:])*")  # a name may hold a colon
NOT_ALIKE = "Not the same work in every alternative: see “Why?” below."
PAYBACK_WIDTHS = {"wide": 1290, "middle": 740, "narrow": 350}  # px


@dataclass(frozen=True)
class Answer:
    """The reply to a case and what is drawn from it, each part made when it is first shown."""

    reply: Reply
    case: Case
    seen: Collection[str] | None = None  # headings that are open, None where all may be
    pictures: Mapping[str, Markup] = field(default_factory=dict)

    @cached_property
    def figures(self) -> tuple[Figure, ...]:
        """The charts of what is seen."""
        return charts.figures(self.reply, self.seen)

    @cached_property
    def keys(self) -> tuple[measures_table.KeyFigure, ...]:
        """The four figures of the first screen."""
        return first_screen.key_figures(self.reply)

    @cached_property
    def lines(self) -> tuple[measures_table.MeasureRow, ...]:
        """Every measure of every alternative."""
        return measures_table.lines(self.reply)

    @cached_property
    def rests(self) -> tuple[Rests, ...]:
        """Every figure that the answer rests on."""
        return rests(self.reply)

    @cached_property
    def drawn(self) -> tuple[Drawing, ...]:
        """The drawings of the roof."""
        shown = measures_table.retrofit_shown(self.reply)
        return drawings(self.case, self.reply["units"], shown)

    @cached_property
    def takeoffs(self) -> tuple[Takeoff, ...]:
        """The quantities of the framing surveys."""
        return takeoffs(self.case, self.reply)

    @property
    def energy(self) -> EnergyTable:
        """Energy in a typical year."""
        return energy_table(self.reply)

    @cached_property
    def u_values(self) -> str:
        """How much heat the roofs let through."""
        today = measures_table.u_of_today(self.case, self.reply["units"])
        return measures_table.u_values(self.reply, today)

    @property
    def cautions(self) -> list[tuple[str, list[str]]]:
        """Cautions under their headings."""
        return caution_groups(self.reply)

    @property
    def headline(self) -> str:
        """The answer in one sentence."""
        return first_screen.headline(self.reply)

    @property
    def metal_roof(self) -> str:
        """What the metal roof does where the headline speaks of another."""
        return first_screen.metal_roof(self.reply)

    @property
    def remarks(self) -> list[str]:
        """Remarks beside the headline: other views, assumptions, duties."""
        note = self.reply["scope_note"]
        short = note if len(note) <= LONGEST_REMARK else NOT_ALIKE
        said, apart = self.reply["answer"], first_screen.one_sided(self.reply)
        work = [*apart, *([short] if note and not apart else [])]
        return [*said["disagreements"], *said["conditions"], *work]

    @property
    def remark_leads(self) -> str:
        """The remarks in a line, for the first screen, which opens to what each says in full."""
        leads = [_lead(one) for one in self.remarks]
        more = len(leads) - MOST_LEADS
        return " · ".join([*leads[:MOST_LEADS], *([f"{more} more"] if more > 0 else [])])

    @property
    def about(self) -> str:
        """Which roof this is."""
        return first_screen.about(self.reply)

    @property
    def whose(self) -> str:
        """How many figures are the user's, and how many invented."""
        return first_screen.whose(self.reply)

    @property
    def told(self) -> Mapping[str, str]:
        """A line for each heading of what opens in place."""
        return first_screen.told(self.reply)

    @cached_property
    def tables(self) -> Mapping[str, tuple[Told, ...]]:
        """The tables under the headings that are seen."""
        made: dict[str, Callable[[Reply], Iterable[Told]]] = {
            "what-if": _what_if,
            "why": _why,
            "how-sure": answer_tables.swings,
            "heat": answer_tables.heat,
        }
        return {
            key: tuple(of(self.reply))
            for key, of in made.items()
            if self.seen is None or key in self.seen
        }

    @property
    def payback(self) -> tuple[tuple[str, Markup], ...]:
        """The payback chart drawn for wide, middle and narrow screens."""
        found = ((size, self.pictures.get(f"payback-{size}")) for size in PAYBACK_WIDTHS)
        return tuple((size, picture) for size, picture in found if picture)

    @property
    def years(self) -> int:
        """Length of the study period [years]."""
        return len(self.reply["alternatives"][0]["cash_flow"]) - 1


def _what_if(reply: Reply) -> tuple[Told, ...]:
    """Return the tables of what could turn the answer, and of when to begin."""
    return (*answer_tables.turning(reply), *payment_tables.beginnings(reply))


def _lead(remark: str) -> str:
    """Return what a remark is about: the words before its colon, else before a comma.

    Examples
    --------
    >>> _lead("“2: Metal” pays $9,000, 2 years sooner: it begins now.")
    '“2: Metal” pays $9,000, 2 years sooner'
    """
    lead = BEFORE_COLON.match(remark)[0]  # type: ignore[index]  # it may match nothing
    if len(lead) <= LONGEST_LEAD:
        return lead
    cut = lead[:LONGEST_LEAD]
    return f"{cut.rpartition(', ')[0] or cut.rpartition(' ')[0]} …"


def _why(reply: Reply) -> tuple[Told, ...]:
    """Return the tables of costs and work, and of what is paid in which year."""
    paid = (*payment_tables.payments(reply), *payment_tables.after_tax(reply))
    return (*answer_tables.why(reply), *paid)


def answer(
    document: Document,
    calculate: Calculate,
    *,
    drawn: bool,
    seen: Collection[str] | None = None,
) -> Answer:
    """Return the answer to a case document.

    Parameters
    ----------
    document : dict
        A case document, not yet checked.
    calculate : callable
        Runs a function with its arguments, such as within a time limit.
    drawn : bool
        Whether the charts are drawn as pictures, for a page that has no live charts yet.
    seen : collection of str, optional
        Headings whose contents are shown while a slider moves; all where it is left out.

    Raises
    ------
    api.problems.Problem
        With every fault of the document.
    """
    loaded = service.load_case(document)
    # What would change the answer waits until the slider stands still.
    replied = partial(service.comparison_reply, explore=seen is None)
    reply = calculate(replied, loaded.case, loaded.units, document)
    found = Answer(reply, loaded.case, seen)
    return replace(found, pictures=pictures(found.figures)) if drawn else found


def pictures(figures: tuple[Figure, ...]) -> dict[str, Markup]:
    """Return every chart as a picture, the payback chart in three widths."""
    payback, *rest = figures
    sizes = {f"payback-{n}": svg.draw(payback, width=w) for n, w in PAYBACK_WIDTHS.items()}
    return sizes | {figure.key: svg.draw(figure) for figure in rest}


def resolved(reply: Reply) -> dict[str, str]:
    """Return what the entries left empty come to, as entries read, by dotted path."""
    top = {one["name"]: one for one in described(reply["units"])}
    found = {}
    for one in reply["assumptions"]:
        name = one["field"].rsplit(".", 1)[-1]
        if isinstance(one["value"], int | float) and one["field"].split(".")[0] in top:
            described_as = {"kind": one["kind"], "name": name}
            found[one["field"]] = to_entry(one["value"], described_as, reply["units"])
    return found


def in_units(document: Document, system: units.System) -> Document:
    """Return a case document with its numbers in other units.

    Raises
    ------
    api.problems.Problem
        With every fault of the document: what cannot be read cannot be converted.
    """
    if document.get("units") == system:
        return document
    converted = service.case_document(service.load_case(document).case, system)
    return {name: _short(value) for name, value in converted.items()}


def _short(value: Any) -> Any:
    """Return a part of a converted document with its numbers as people write them."""
    if isinstance(value, dict):
        return {name: _short(one) for name, one in value.items()}
    if isinstance(value, list):
        return [_short(one) for one in value]
    return units.shortest(value) if isinstance(value, float) else value


__all__ = ["Answer", "Problem", "answer", "at", "in_units", "resolved"]
