"""The letter of two pages: who offers what to whom, why, for how much, and on what terms."""

import datetime
import math
import re
from collections.abc import Sequence
from typing import Any

from lcc import tables, units
from lcc.case import Framing, MetalRetrofit
from lcc.case.document_values import capital
from lcc.case.logo import logo
from lcc.case.proposal import day
from lcc.case.rectangle import OPPOSITE
from lcc.caution_ranking import ranked
from lcc.cost.quotations import ENTERED_PRICE
from lcc.cost.takeoff_price import SMALL_DIFFERENCE
from lcc.cost.verdict import point_state
from lcc.figures import when
from lcc.model_notes import ENERGY_IN_BRIEF
from lcc.quantities.drainage import eaves_above
from lcc.quantities.polygons import TOUCH_M
from lcc.quantities.retrofit_link import survey
from lcc.quantities.roof_frame import roof_frame
from lcc.quantities.roof_planes import parts
from lcc.quantities.takeoff import without_prices
from lcc.quantities.trade_limits import UNUSUAL
from lcc.units import System
from web import first_screen
from web import format as fmt
from web.answer_tables import split
from web.charts import Reply
from web.charts.figure import subject
from web.charts.jobs import CENT, ChartJob, beyond_the_bid, granted, jobs
from web.drawings.sheet import length, slope_words
from web.proposal import payback_drawing
from web.proposal.blocks import Block, Cell, marked
from web.proposal.cut_names import cut
from web.proposal.offer import ANNEXES, Offer
from web.proposal.typesetting import UNKNOWN, unprintable

DEMO = "Demo price: invented, no offer."
NO_WORK, NOTHING_DUE = "no work", "No work falls within the study period."
BUDGET = "Budget price from the tool’s tables, no quotation."
NAME = 90  # letters of a name on the letter
LACKING = f"{UNKNOWN} stands for a letter that this paper cannot print: write the name by hand."
ALL = 0.02  # of the roof's area: a smaller gap leaves nothing out
NOT_NEEDED = "not-needed"
TURNING, TURNS = "What could change the answer", "What could change the answer: "
NOT_VARIED = "Not varied:"
HELD = "Said to be in the price, and to be confirmed in writing: "
OPEN = "Open questions, to be confirmed in writing: "
WHOLE = "Entered as the price of the whole job."
PROPOSED, DEARER = "What is proposed", "What this letter prices, though it costs more"
TOO_CLOSE = "What this letter prices, too close to call"
MISSING = "Missing before anyone can agree: a price offered by the roofer"
ANOTHER_YEAR = " Another year costs less, as said before: agree on the year first."
FILL_IN = "To be filled in before anyone signs:"
TERMS = ("Payment", "Start and duration", "Warranty", "Insurance")  # lines to fill in
# What a survey counts on the old roof, by member of the take-off, for the sentence of what is held.
SURVEYED_THINGS = {
    "rooftop_units": "rooftop units lifted off and on",
    "skylights_carried": "skylights carried through",
    "skylights_covered": "skylights covered, which takes daylight from the rooms",
    "penetrations": "pipes and conduits", "drains_abandoned": "old roof drains closed",
}  # fmt: skip
UNCOUNTED = (
    "Strengthening of joists, beams or deck that the engineer asks for; draft stops, sprinklers, "
    "lights or access in the space between the roofs that the building official asks for."
)


def letter(offer: Offer) -> Block:
    """Return the letter of an offer."""
    reply = offer.reply
    proposed = offer.proposed
    cautions, found = ranked(offer.case, reply["cautions"])
    return {
        "kind": "letter",
        **_head(offer),
        "headline": first_screen.headline(offer.case, reply),
        "verdict": _explained(reply, "comparison" in offer.parts),
        "disagreements": [*reply["answer"]["disagreements"], *reply["answer"]["conditions"]],
        "more": offer.where("comparison"),
        "chart": payback_drawing.chart(reply),
        "cards": _cards(offer, reply),
        "work": _work(offer, proposed),
        "turning": {"title": TURNING, "text": turned(reply)},
        "scope": _scope(offer, reply),
        "included": _included(offer),
        "cautions": {
            "title": "Before anyone climbs up",
            "items": cautions,
            "found": found,
            "more": offer.where("flags"),
        },
        "terms": {
            "title": "Terms",
            "text": offer.proposal.terms,
            "blank": FILL_IN,
            "blanks": TERMS,
        },
        "agreed": " ".join(filter(None, (_agreed(offer, proposed["name"]), _beside(offer)))),
        "signatures": ["Owner", "Date", "Company", "Date"],
        "versions": _versions(offer),
    }


def _explained(reply: Reply, annexed: bool) -> list[str]:
    """The explanation without what the letter says elsewhere, or an annex at its head."""
    said = str(reply["turning"]["sentence"])
    told = [one for one in sentences(reply["answer"]["explanation"]) if one not in said]
    return [one for one in told if not (annexed and one.startswith(NOT_VARIED))]


def sentences(words: str) -> list[str]:
    """Return the sentences of a paragraph.

    Examples
    --------
    >>> sentences("It costs $1.50 more. “A” pays.")
    ['It costs $1.50 more.', '“A” pays.']
    """
    return re.split(r"(?<=[.!?]) (?=[A-Z“])", words) if words else []


def _head(offer: Offer) -> dict[str, Any]:
    own, named = offer.proposal, offer.case.name if offer.case.states("name") else ""
    about = [own.company_address, own.licence and f"License {own.licence}"]
    return {
        "company": {"name": own.company, "about": "\n".join(filter(None, about))},
        "logo": logo(own.logo),
        "dates": [
            ["Date", long_date(day("proposal.date", own.date))],
            ["Proposal no.", own.number],
            ["Valid until", long_date(day("proposal.valid_until", own.valid_until))],
        ],
        "parties": [
            [["For", own.owner], ["Address", own.owner_address]],
            [["Building", cut(named, NAME)], ["Address", own.address],
             ["Roof today", _roof(offer)]],
        ],
    }  # fmt: skip


def long_date(date: datetime.date | None) -> str:
    """Return a date in words, the same in every locale.

    Examples
    --------
    >>> long_date(datetime.date(2027, 4, 1)), long_date(None)
    ('April 1, 2027', '')
    """
    months = ("January", "February", "March", "April", "May", "June", "July", "August",
              "September", "October", "November", "December")  # fmt: skip
    return f"{months[date.month - 1]} {date.day}, {date.year}" if date else ""


def _roof(offer: Offer) -> str:
    roof, system = offer.case.roof, offer.reply["units"]
    area = units.from_core(roof.area_m2, "area", system)
    covering = str(tables.rows("coverings")[roof.covering]["name"])
    return (
        f"{fmt.shown(area, 'area')} {units.unit('area', system).display}, {covering}, "
        f"{fmt.shown(roof.age_y, 'years')} years old"
    )


def _cards(offer: Offer, reply: Reply) -> list[dict[str, str]]:
    price, due = price_of(offer.proposed)
    due = ", ".join(filter(None, [due, _granted(offer)]))
    _, *others = first_screen.key_figures(offer.case, reply)
    mark = ". ".join(filter(None, [_unoffered(offer), _taken_off(offer)]))
    return [
        {"label": "Price of the work", "text": price, "note": due, "mark": mark},
        *({"label": one.label, "text": one.text, "note": one.note, "mark": ""} for one in others),
    ]


def _taken_off(offer: Offer) -> str:
    """The mark beside a price: how far it is from the take-off, and of what part of the roof."""
    taken, share = offer.proposed["quantities"], offer.covered(offer.proposed)
    part = f" of {share:.0%} of the roof" if abs(share - 1) > ALL else ""
    gap = taken["first_cost"]["difference"] if taken else None
    if gap is None:
        return f"Scaled up from a take-off{part}" if part else ""
    apart = abs(gap) / max(taken["first_cost"]["build_up"], CENT)
    if apart <= SMALL_DIFFERENCE:
        return f"As by the take-off{part}" if part else ""
    hours = any(one.endswith(UNUSUAL) for one in taken["price_notes"])
    return (
        f"{apart:.0%} {'below' if gap < 0 else 'above'} the take-off{part} for the same work"
        f"{', whose hours are not usual' * hours}"
    )


def _unoffered(offer: Offer) -> str:
    """The mark beside a price that no contractor has offered, in whole or in part."""
    beyond = beyond_the_bid(offer.proposed)
    estimated = f"{fmt.shown(beyond, 'money')} of it estimated, not offered" * bool(beyond)
    marks = {"demo": "Demo price: invented", "entered": estimated, NO_WORK: ""}
    return marks.get(price_basis(offer), "Budget price: no quotation")


def price_of(proposed: Reply) -> tuple[str, str]:
    """Return the price of the first work on an alternative, and when it falls due."""
    first = first_work(proposed)
    if first is None:
        return fmt.shown(0.0, "money"), NO_WORK
    due = f"in year {first.year}, at today’s prices" if first.year else "today"
    return fmt.shown(first.cost, "money"), due


def _granted(offer: Offer) -> str:
    """Return the grant for the first work, and what is left of its price; empty without one."""
    first = first_work(offer.proposed)
    grant = -granted(offer.proposed, first.year) if first else 0.0
    if not first or grant < CENT:
        return ""
    return f"less a grant of {fmt.money(grant)}: {fmt.money(first.cost - grant)}"


def _quoted(offer: Offer) -> str:
    """Return whose quotation the price rests on, and of how many; empty where none has a name."""
    bids = offer.proposed["quotations"]
    bidder = next((one["bidder"] for one in bids if one["taken"]), ENTERED_PRICE)
    if bidder == ENTERED_PRICE:
        return ""
    one_of = f", one of {len(bids)}" if len(bids) > 1 else ""
    return f"the quotation of {cut(bidder)}{one_of}"


def first_work(proposed: Reply) -> ChartJob | None:
    """Return the first piece of work on an alternative."""
    return next(iter(jobs(proposed)), None)


def _work(offer: Offer, proposed: Reply) -> dict[str, str]:
    first = first_work(proposed)
    made = ", ".join([*first.parts[:1], *_build(offer)]) if first else ""
    price, due = price_of(proposed)
    basis, less = price_basis(offer), _granted(offer) and f"; {_granted(offer)}"
    notes = {"entered": "", NO_WORK: "", "demo": DEMO}
    return {
        "title": f"{_title(offer)}: {proposed['name']}",
        "text": f"{made}, with all that the table overleaf names." if made else NOTHING_DUE,
        "price": f"Price {', '.join(filter(None, [price, due, _quoted(offer)]))}{less}."
        f"{_own_loan(offer)}",
        "demo": " ".join(filter(None, [notes.get(basis, BUDGET), _dearer(offer), _later(offer)])),
    }


def _own_loan(offer: Offer) -> str:
    """What this work takes by loan, where the card has the loan of another choice."""
    paid = offer.proposed["financed"]
    if not paid or paid["financed"] <= 0 or offer.place == subject(offer.reply):
        return ""
    return f" {paid['sentence'].partition('. ')[0]}."


def _later(offer: Offer) -> str:
    """The better year to begin the work, in short where the answer tells it whole; or nothing."""
    begun = offer.proposed["starting_years"]
    if not begun or begun["advice"] not in offer.reply["answer"]["conditions"]:
        return str(begun["advice"]) if begun else ""
    return f"Begun {when(begun['best_year'])} it costs less."


def _title(offer: Offer) -> str:
    costs = (float(one["life_cycle_cost"]) for one in (offer.other, offer.proposed))
    answered = subject(offer.reply) in (offer.place, offer.rival)
    state = offer.reply["answer"]["state"] if answered else point_state(*costs)
    # Of the base case the answer is the other way round.
    less, more = (PROPOSED, DEARER) if offer.place else (DEARER, PROPOSED)
    return {"costs-less": less, "costs-more": more}.get(state, TOO_CLOSE)


def _more(offer: Offer, other: Reply) -> float:
    """What the proposed choice costs more than another over the study period."""
    return float(offer.proposed["life_cycle_cost"] - other["life_cycle_cost"])


def _dearer(offer: Offer) -> str:
    """What the owner must hear where another alternative costs less than the proposed one."""
    other, cheapest = offer.other, offer.cheapest
    dearer = (
        f"{'Keeping to ' * bool(offer.place)}“{other['name']}” is {fmt.said(_more(offer, other))} "
        "cheaper over the study period: by these figures this work does not save money."
    )
    close = (
        f"As entered it costs {fmt.more_or_less(-_more(offer, other))} over the study period "
        f"than “{other['name']}”: too close to call whether it saves money."
    )
    told = [one for title, one in ((DEARER, dearer), (TOO_CLOSE, close)) if title == _title(offer)]
    if (more := _more(offer, cheapest)) > 0 and not (told and cheapest is other):
        told.append(
            f"It costs {fmt.said(more)} more over the study period than “{cheapest['name']}”."
        )
    return " ".join(told)


def price_basis(offer: Offer) -> str:
    """Return where the price of the proposed work comes from: "entered" is a quotation."""
    if first_work(offer.proposed) is None:
        return NO_WORK
    bids = offer.proposed["quotations"]
    taken = next((place for place, one in enumerate(bids) if one["taken"]), 0)
    path = f"alternatives.{offer.place - 1}" if offer.place else "base_case"
    fields = [f"{path}.{own}price" for own in ("", f"quotations.{taken}.")]
    found = [one["basis"] for one in offer.reply["assumptions"] if one["field"] in fields]
    return found[0] if found else "common practice"


def _build(offer: Offer) -> list[str]:
    retrofit = offer.case.choices[offer.place]
    if not isinstance(retrofit, MetalRetrofit):
        return []
    system = offer.reply["units"]
    panel = str(tables.rows("panels")[retrofit.panel]["name"]).lower()
    made = f"{panel} panels at {slope_words(retrofit.slope, system)}"
    if retrofit.framing is None:
        return [made]
    return [f"{panel} panels at {_slopes(retrofit.framing, system)}", *_heights(offer, retrofit)]


def _slopes(framing: Framing, system: System) -> str:
    """Return the slope of every part; parts are named if their slopes differ."""
    by_slope: dict[str, list[str]] = {}
    for part in parts(framing):
        by_slope.setdefault(slope_words(part.slope, system), []).append(str(part.index + 1))
    if len(by_slope) == 1:
        return next(iter(by_slope))
    return ", ".join(f"{slope} (part{'s' * (len(which) > 1)} {' and '.join(which)})"
                     for slope, which in by_slope.items())  # fmt: skip


def _heights(offer: Offer, retrofit: MetalRetrofit) -> list[str]:
    """Return levels, the tallest post, parapets that stay, and eaves above a lower roof."""
    assert retrofit.framing is not None
    system, rectangles = offer.reply["units"], retrofit.framing.rectangles
    tallest = fmt.cut_words(offer.proposed["quantities"]["members"]["tallest_post"], system)
    levels = sorted({one.roof_level_m for one in rectangles})
    high = max(getattr(one, f"parapet_{side}_m") for one in rectangles for side in OPPOSITE)
    told = [f"on posts up to {tallest} high"]
    if len(levels) > 1:
        told.append(f"old roofs at levels {' and '.join(length(one, system) for one in levels)}")
    if high:
        told.append(f"parapets up to {length(high, system)}")
    framed = survey(retrofit)
    assert framed is not None
    roof = roof_frame(without_prices(framed))
    walled = (roof.edges.lower < 0) & (roof.edges.parapet_m > 0)
    if (over := float(roof.edges.over_deck_m[walled].max(initial=0.0))) > TOUCH_M:
        told.append(f"the new roof up to {length(over, system)} above its parapets")
    told += [f"part {one.frame.part.index + 1} drains to gutters above the lower roof of part "
             f"{one.other + 1}" for one in eaves_above(roof)]  # fmt: skip
    return told


def turned(reply: Reply) -> str:
    """Return what could change the answer, to stand under that title."""
    return capital(str(reply["turning"]["sentence"]).removeprefix(TURNS))


def _scope(offer: Offer, reply: Reply) -> dict[str, Any]:
    """Who does what: the proposed work beside the other; duties of neither in a sentence."""
    rows = [(row["duty"], row["alternatives"][offer.place], row["alternatives"][offer.rival])
            for row in reply["scope"]]  # fmt: skip
    idle = [duty for duty, *pair in rows if all(one["status"] == NOT_NEEDED for one in pair)]
    shown = sorted((row for row in rows if row[0] not in idle), key=_no_sum)
    neither = f"Not needed in either: {'; '.join(idle)}." if idle else ""
    return {
        "title": "What the price includes, and what it does not",
        "said": f"{neither}{split(reply)}".strip(),
        "columns": [
            {"title": "Work", "width": 1.5, "align": "left"},
            {"title": "This proposal", "width": 0.8, "align": "left"},
            {"title": offer.other["name"], "width": 0.9, "align": "left"},
            {"title": "Why, in this proposal", "width": 2.2, "align": "left"},
        ],
        "rows": [
            [duty, scope_cell(own), scope_cell(base), own["reason"]] for duty, own, base in shown
        ],
        "total": [marked("The first work in all", "strong"),
                  *(marked(fmt.shown(_first_sum(rows, place), "money"), "strong")
                    for place in (0, 1)), ""],
        "left": [_left(shown[many:], offer.where("comparison")) for many in range(len(shown))],
    }  # fmt: skip


def _no_sum(row: tuple[str, Reply, Reply]) -> bool:
    """Whether a duty adds nothing to the first work of either: such lines come last."""
    return not any(one["first_cost"] for one in row[1:])


def _left(rows: Sequence[tuple[str, Reply, Reply]], where: str) -> str:
    """What the lines that the letter has no room for add to its two totals."""
    many = f"{len(rows)} more line{'s' * (len(rows) > 1)}"
    own, base = (fmt.shown(_first_sum(rows, place), "money") for place in (0, 1))
    held = "nothing" if all(map(_no_sum, rows)) else f"{own} and {base}"
    return f"{many}, with {held} in the totals: see {where}."


def _first_sum(rows: Sequence[tuple[str, Reply, Reply]], place: int) -> float:
    return math.fsum(pair[place]["first_cost"] for _, *pair in rows)


def scope_cell(entry: Reply) -> Cell:
    """Return what becomes of a duty: its cost in the first work, or why there is none."""
    cost = fmt.shown(entry["first_cost"], "money") if entry["first_cost"] else ""
    status: str = entry["status"]
    later = "later" if entry["cost"] else "included"
    other = "" if status == "done" else status.replace("-", " ")
    said = ", ".join(filter(None, [cost, other])) or later
    return marked(said, "open" if status in ("open-question", "left-out") else "")


def _included(offer: Offer) -> list[dict[str, str]]:
    """In the offer's own words; by the table above where there are none, with room for more."""
    own, counted, (held, asked, without) = offer.proposal, _counted(offer), _without(offer)
    holds = " ".join(filter(None, [own.includes or counted, held]))
    left = [own.excludes] if own.excludes else [without, UNCOUNTED * bool(counted)]
    lacks = " ".join(filter(None, [asked, *left]))
    more = "" if own.excludes else "Other exclusions, to be filled in"
    found = [{"label": "The price includes", "text": holds, "more": ""}] if holds else []
    return [*found, {"label": "The price does not include", "text": lacks, "more": more}]


def _counted(offer: Offer) -> str:
    """What the take-off counts on the old roof, where it is the price; the rest is not in it."""
    taken = offer.proposed["quantities"]
    if taken is None or taken["first_cost"]["quotation"] is not None:
        return ""
    told = [f"{what}: {taken['services'][name]:,}" for name, what in SURVEYED_THINGS.items()
            if taken["services"][name]]  # fmt: skip
    return f"As counted: {'; '.join(told or ['nothing on the old roof'])}."


def _without(offer: Offer) -> tuple[str, str, str]:
    """What a price is said to hold of open questions; the others; what it leaves out, and why."""
    named = {name for one in offer.proposed["quotations"] if one["taken"]
             for name in one["price_includes"]}  # fmt: skip
    own = [(row["key"], row["duty"], row["alternatives"][offer.place])
           for row in offer.reply["scope"]]  # fmt: skip
    asked = [(key in named, duty) for key, duty, one in own if one["status"] == "open-question"]
    held, others = ([duty for in_price, duty in asked if in_price is by_name]
                    for by_name in (True, False))  # fmt: skip
    told = [f"{duty} (left out by choice)" for _, duty, one in own if one["status"] == "left-out"]
    told += [f"{duty} (paid for then)" for _, duty, one in own
             if one["status"] == "done" and one["cost"] and not one["first_cost"]]  # fmt: skip
    parts = (HELD, held), (OPEN, others), ("", told)
    said, doubted, left = (f"{title}{'; '.join(each)}." * bool(each) for title, each in parts)
    return " ".join(filter(None, [WHOLE * ("everything" in named), said])), doubted, left


def _agreed(offer: Offer, name: str) -> str:
    """What is signed for: the work, its price, and the year in which it begins."""
    price, due = price_of(offer.proposed)
    first, estimated = first_work(offer.proposed), beyond_the_bid(offer.proposed)
    begun = f"begun {due}"
    if first is None:
        return f"Nothing to agree on yet: “{name}” has {due} within the study period."
    later = ANOTHER_YEAR * bool(_later(offer))
    then = f" Agree on the price of year {first.year} before that work begins." * (first.year > 0)
    if price_basis(offer) != "entered":
        return f"{MISSING} for {name}, {begun}: $\u00a0______________{later}"
    until = long_date(day("proposal.valid_until", offer.proposal.valid_until))
    later = f" The price entered holds until {until}.{later}" if until else later
    if not estimated:
        return f"Agreed: {name}, {begun}, for {price}, with what this letter includes.{later}{then}"
    return (
        f"Of {price}, {fmt.shown(first.cost - estimated, 'money')} is the price entered and "
        f"{fmt.shown(estimated, 'money')} is an estimate that nobody has offered. Have it quoted, "
        f"then agree: {name}, {begun}, for the sum of $\u00a0______________.{later}"
    )


def _beside(offer: Offer) -> str:
    """Say once more above the signatures what costs less, where that is not what is proposed."""
    more, least = _more(offer, offer.cheapest), offer.cheapest["name"]
    told = f"By the figures in this letter it costs {fmt.said(more)} more over the years than"
    return f"{told} “{least}”." if more >= CENT else ""


def _versions(offer: Offer) -> str:
    annexes: Sequence[str] = [offer.title(part) for part in ANNEXES if part in offer.parts]
    listed = f"{'; '.join(annexes)}. " if annexes else ""
    lacking = f"{LACKING} " if unprintable(f"{offer.case}") else ""
    model, data = (offer.reply[name] for name in ("model_version", "data_version"))
    energy = "" if "assumptions" in offer.parts else f"{ENERGY_IN_BRIEF} "
    return (
        f"{lacking}{listed}{energy}Model {model}, data {data}. "
        "A budget and a comparison, not a design."
    )
