"""A case document answered: everything that the page and the proposal show of it."""

import re
from collections.abc import Callable, Collection, Iterable, Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property, partial
from itertools import accumulate
from typing import Any, TypeVar

from markupsafe import Markup

from api import service
from lcc import units
from lcc.case import Case
from lcc.case.case_document import members
from lcc.case.resolution import figures
from web import answer_tables, charts, first_screen, measures_table, payment_tables
from web.answer_tables import Told, caution_groups, turning
from web.assumptions_table import rests as grounds
from web.charts import Figure, Reply, svg
from web.charts.figure import against_base
from web.drawings.roof_section import Drawing, drawings
from web.energy_table import energy_table
from web.form.form_fields import Document
from web.form.form_units import to_entry
from web.quantities_table import Takeoff, takeoffs

T = TypeVar("T")
Calculate = Callable[..., Any]
LONGEST_REMARK = 220  # letters beside the headline
MOST_LEADS, LONGEST_LEADS = 3, 200  # of the remarks, letters of all
SHORT = 40  # letters of leads that stand alone on no line
LEAD = re.compile(r"(“[^”]*”|[^:.]|\.(?! |$))*")  # a name may hold a colon or a stop
NOT_ALIKE = "The bids do not cover the same work: see “Why?” below."
# Long parts of a reply, by the heading under which alone they are read.
LONG_PARTS = {"the-roof": "alternatives.quantities", "heat": "alternatives.energy.hot_day"}
PAYBACK_WIDTHS = {"wide": 1290, "middle": 740, "narrow": 350}  # px


def _told(of: Callable[[Reply], T]) -> cached_property[T]:
    """Return a part of an answer that follows from its reply alone."""
    return cached_property(lambda answer: of(answer.reply))


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

    headline = cached_property(lambda one: first_screen.headline(one.case, one.reply))
    metal_roof = _told(first_screen.metal_roof)  # where the headline speaks of another
    own = _told(lambda reply: against_base(reply)[1]["name"])  # of which the answer speaks
    about = _told(first_screen.about)  # which roof this is
    # How many figures are the user's, how many invented.
    whose = cached_property(lambda one: first_screen.whose(one.case, one.reply))
    told = _told(first_screen.told)  # a line for each heading of what opens in place
    keys = cached_property(lambda one: first_screen.key_figures(one.case, one.reply))
    keys_of = _told(first_screen.keys_of)  # which alternative they are of
    lines = _told(measures_table.lines)
    rests = _told(grounds)
    energy = _told(energy_table)
    cautions = _told(caution_groups)

    @cached_property
    def drawn(self) -> tuple[Drawing, ...]:
        """The drawings of the roof."""
        shown = measures_table.retrofit_shown(self.reply)
        return drawings(self.case, self.reply["units"], shown)

    @cached_property
    def takeoffs(self) -> tuple[Takeoff, ...]:
        """The quantities of the framing surveys."""
        return takeoffs(self.case, self.reply)

    @cached_property
    def u_values(self) -> str:
        """How much heat the roofs let through."""
        today = measures_table.u_of_today(self.case, self.reply["units"])
        return measures_table.u_values(self.reply, today)

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
        letters = list(accumulate(map(len, leads)))
        before = [0, *letters][:MOST_LEADS]
        shown = sum(size <= LONGEST_LEADS or first < SHORT
                    for first, size in zip(before, letters, strict=False))  # fmt: skip
        more = len(leads) - shown
        return " · ".join([*leads[:shown], *([f"{more} more to read"] if more else [])])

    @cached_property
    def tables(self) -> Mapping[str, tuple[Told, ...]]:
        """The tables under the headings that are seen."""
        made: dict[str, Callable[[Reply], Iterable[Told]]] = {
            "what-if": lambda reply: (*turning(reply), *payment_tables.beginnings(reply)),
            "why": lambda reply: _why(self.case, reply),
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


def _lead(remark: str) -> str:
    """Return what a remark is about, whole: its first sentence, or the words before its colon.

    Examples
    --------
    >>> _lead("“2: Metal” costs $9,000 now: it begins sooner.")
    '“2: Metal” costs $9,000 now'
    >>> _lead("“St. Ann’s” is $9,000 above the take-off, 8.5% of it. At the take-off’s it leads.")
    '“St. Ann’s” is $9,000 above the take-off, 8.5% of it'
    """
    return LEAD.match(remark)[0]  # type: ignore[index]  # it may match nothing


def _why(case: Case, reply: Reply) -> tuple[Told, ...]:
    """Return the tables of costs and work, and of what is paid in which year."""
    paid = (*payment_tables.payments(reply), *payment_tables.after_tax(case, reply))
    return (*answer_tables.why(reply), *paid)


def answer(
    document: Document, calculate: Calculate, *, drawn: bool, seen: Collection[str] | None = None
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
    replied = partial(service.comparison_reply, explore=seen is None, without=_unread(seen))
    reply = calculate(replied, loaded.case, loaded.units, document)
    found = Answer(reply, loaded.case, seen)
    return replace(found, pictures=pictures(found.figures)) if drawn else found


def _unread(seen: Collection[str] | None) -> tuple[str, ...]:
    """Return the long parts of a reply that only headings which are not open show."""
    return () if seen is None else tuple(at for part, at in LONG_PARTS.items() if part not in seen)


def pictures(figures: tuple[Figure, ...]) -> dict[str, Markup]:
    """Return every chart as a picture, the payback chart in three widths."""
    payback, *rest = figures
    sizes = {f"payback-{n}": svg.draw(payback, width=w) for n, w in PAYBACK_WIDTHS.items()}
    return sizes | {figure.key: svg.draw(figure) for figure in rest}


def resolved(given: Answer) -> dict[str, str]:
    """Return what the entries left empty come to, as entries read, by dotted path."""
    system: units.System = given.reply["units"]
    top = {one.name for one in members(Case)}
    # Prices of work that is on no roof of the case are no assumptions, but the form has them too.
    listed = [(one.field, one.facts.kind, units.from_core(float(one.value), one.facts.kind, system))
              for one in figures(given.case.prices.duties, "prices.duties.")
              if one.facts.type == "quantity"]  # fmt: skip
    listed += [(one["field"], one["kind"], one["value"]) for one in given.reply["assumptions"]
               if one["field"].split(".")[0] in top]  # fmt: skip
    return {path: to_entry(value, kind, system)
            for path, kind, value in listed if isinstance(value, int | float)}  # fmt: skip


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
