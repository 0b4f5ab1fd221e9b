"""The crew's sheet: what is cut and set, by mark and length, to be verified in the field."""

import math
from collections.abc import Iterator, Sequence

from lcc import units
from lcc.case import Framing, MetalRetrofit, Rectangle
from lcc.caution_ranking import ranked
from lcc.caution_texts import CLIMB, FIRE, STRUCTURE
from lcc.quantities import survey, without_prices
from lcc.quantities.engineer_questions import SEAT
from web import format as fmt
from web.answer_tables import amount, caution_groups
from web.charts import Reply
from web.drawings.part_plan import part_plan
from web.proposal.annex_flags import cautioned
from web.proposal.annex_quantities import figure, flags_of, gutters, listed, sized
from web.proposal.blocks import (
    Block,
    Cell,
    blanks,
    bullets,
    drawn,
    heading,
    sheet,
    small,
    table,
    text,
)
from web.proposal.engineer_sheet import steel
from web.proposal.offer import Offer
from web.quantities_table import LOADS, TRIMS, Takeoff

LEAD = (
    "Verify every length in the field before cutting: heights come from a survey, and an old deck "
    "is not level. Build from the engineer’s drawings, not from this sheet."
)
SUBJECTS = (CLIMB, STRUCTURE, FIRE)  # the cautions of this sheet
FIRST = 6  # of them, at its head
BY_HAND = (
    "Deck height at the four corners and the drains",
    "Soft, wet or rusted deck: where",
    "Skylights and openings covered or guarded: who",
    "Anchor points for fall protection: where",
    "Purlins: stock length, lap and splice, by the engineer’s drawings",
)


# Lists of places in the reply, each with the line above it in the table of a part.
LISTS = {
    "set_out": "", "laid": "Cross members, and purlins that no row of posts places",
    "bracing": "Bracing lines", "along": "Panels, ventilators and downspouts",
}  # fmt: skip
# As the cut list calls them.
POST = "post"
PURLIN = "purlin"
DIAGONAL = "diagonal"
CROSS = "cross member"
HEADER = "header under posts"
PANEL = "panel"
COUNTED_PIECES = (CROSS, PANEL, "ventilator", "downspout")  # others of a list are single pieces
ORDER = (
    "Nothing is added for breakage, nor for end plates. Panels are as long as their bare run: add "
    "what hangs over the gutter and what is turned up at the top. Order posts, members "
    "and panels when the field lengths are known. No stock length is entered for posts and "
    "bracing: ask the supplier. Lengths of downspouts are not in the survey: measure "
    "them. Outlets of inner gutters, each with an overflow, are counted: place them. A clip is "
    "counted at every seam and rake on every purlin line, those of wind zones too. Inlets are "
    "counted by free area alone: the maker says how many, the engineer’s drawings say where."
)
STEPS = {"ip": "sixteenth of an inch", "si": "millimetre"}
NET = (
    "Purlins are spliced over posts or cross members, {splice}; the engineer confirms each. Every "
    "diagonal of a bracing line is listed by itself, foot to head of its posts without end plates: "
    "measure and cut each one in place."
)
BUTTED = "butted: the survey has no lap and no lap is counted"
LAID = (
    "Cross members lie evenly from the first to the last, up the fall from line to line of posts. "
    "A purlin is in as many pieces as the cut list says. A bracing line runs up its fall over the "
    "posts named: a diagonal from each line of the field to the next, foot to head, past the posts "
    "of closer lines between, and one in each row along its bay; a line over a ridge has a mark on "
    "both falls and counts once."
)
PANELS = (
    "Panels: x or y is where the first panel of a row begins and where the last one does, and "
    "“every” is what one covers. Full panels are set from the left or the front edge; the last is "
    "cut to the width that is left. To begin at the other end, or to cut both ends alike, measure "
    "panels at hips and valleys again. Snap the first seam square to the eave, and verify the run "
    "of the eave in the field before the first panel is fixed."
)
SQUARE = (
    "Square the part first: both diagonals of the plan, corner to corner, are {diagonal}{unit}. "
    "The top of a line of posts is level: set it from the level 0 of the survey, and cut each post "
    "to the deck below it."
)
HEADED = (
    "{marks}: a header, marked by the part and the fall of its post, lies under each post that "
    "stands on a “header between two” above, across the joists or beams on both sides of it."
)
MARKS = (
    "x is measured to the right from the left edge of the part, y to the back from its front "
    "edge, both on the level, not down the slope; below 0 lies beyond that edge, over the part "
    "beside it. "
    "Edges are those of the plan entered, to which the outermost posts are set: before the first "
    "line is snapped, settle whether that is the outside of the wall, the edge of the deck or the "
    "inside of the parapet, and how far posts stand in. Find the joists or beams of the old roof "
    "first: where none is under the place listed, ask the engineer before a post is moved."
)
ELSEWHERE = {
    "C": "curbs",
    "K": "pipes and conduits",
    "L": "skylights carried through",
}  # marks of what the survey counts and does not place


def crew_sheet(offer: Offer) -> Block:
    """Return the sheet for the crew."""
    told = [one for title, some in caution_groups(offer.reply) if title in SUBJECTS for one in some]
    first = ranked(offer.case, told)[0][:FIRST]
    return sheet(
        "Sheet for the crew",
        [text(LEAD), heading("First"), bullets(first),
         heading("Found on the roof before work begins"), blanks(BY_HAND),
         *(block for each in offer.surveyed for block in _drawn(offer, *each)),
         *cautioned(offer, SUBJECTS, but=first), drawn(),
         *(block for each in offer.surveyed for block in _listed(offer, *each))],
    )  # fmt: skip


def _drawn(offer: Offer, taken: Takeoff, choice: MetalRetrofit, result: Reply) -> Iterator[Block]:
    system, framing = offer.reply["units"], survey(choice)
    assert framing is not None
    yield heading(taken.name)
    work = [*_before(result["quantities"], system), *_drains(framing, system)]
    if work:
        yield heading("Work before and beside the frame", 3)
        yield bullets(work)
    for svg in (*taken.sections, *[taken.plan] * (len(framing.rectangles) > 1)):
        yield figure(svg, plan=svg is taken.plan, floats=True)
    for place in range(len(framing.rectangles)):
        drawn_part = part_plan(without_prices(framing), system, place)
        yield figure(drawn_part, plan=True, floats=True)
    found = list(flags_of(result, system))
    if found:
        yield heading("Flags of the survey", 3)
        yield bullets(found)


def _before(quantities: Reply, system: units.System) -> Iterator[str]:
    """Name the work that is no member of the frame: what is taken off, lifted and closed."""
    services = quantities["services"]
    for one in quantities["removed"]:
        mass = amount({"value": one["mass"], "kind": "mass"}, system)
        yield (f"{one['component']}: about {mass} is taken off and lowered to the ground as it is "
               "lifted, never heaped on the deck.")  # fmt: skip
    if services["rooftop_units"]:
        yield (f"Rooftop units to lift: {services['rooftop_units']}; new curbs: "
               f"{services['curbs']}; crane days: {services['crane_days']}. Weights are not "
               "surveyed: ask for them before a lift is planned.")  # fmt: skip
    if services["tear_out"]:
        torn = amount({"value": services["tear_out"], "kind": "area"}, system)
        yield f"Wet area to tear out: {torn}."
    if services["skylights_carried"] or services["skylights_covered"]:
        yield "Skylights: their places are not surveyed and not on the drawings. Guard each one."


def _drains(framing: Framing, system: units.System) -> Iterator[str]:
    """Say where the old drains lie that the new roof covers, from the corner of their part."""
    places = [f"part {number} at x {x} and y {y}"
              for drain in framing.drains
              for number, part in [each for each in enumerate(framing.rectangles, start=1)
                                   if each[1].holds(drain.x_m, drain.y_m)][:1]
              for x, y in [(_span([units.from_core(at, "length", system)], system)
                            for at in (drain.x_m - part.x_m, drain.y_m - part.y_m))]]  # fmt: skip
    if places:
        yield (f"Old drains: {', '.join(places)}. They stay open until the new gutters carry the "
               "rain away; then a plumber closes them below the deck. The survey counts "
               f"{framing.other_work.drains_abandoned} to close.")  # fmt: skip


def _listed(offer: Offer, taken: Takeoff, choice: MetalRetrofit, result: Reply) -> Iterator[Block]:
    system, quantities = offer.reply["units"], result["quantities"]
    assert choice.framing is not None
    yield heading(f"{taken.name}: where everything stands")
    yield small(MARKS)
    for number, part in enumerate(choice.framing.rectangles, start=1):
        yield heading(f"Part {number}", 3)
        corner = units.from_core(math.hypot(part.length_m, part.width_m), "length", system)
        yield small(SQUARE.format(diagonal=fmt.cut_length(corner, system),
                                  unit="" if system == "ip" else " mm"))  # fmt: skip
        yield _placed(quantities, part, number, system)
    yield small(LAID)
    yield text(PANELS)
    if SEAT in quantities["questions"]:
        yield text(SEAT, "open")
    if headers := [one["mark"] for one in quantities["cut_list"] if one["what"] == HEADER]:
        yield small(HEADED.format(marks=", ".join(headers)))
    marks = [f"{letter} ({what})" for letter, what in ELSEWHERE.items()
             if any(one["mark"][0] == letter for one in quantities["cut_list"])]  # fmt: skip
    if marks:
        yield small(f"Not placed by the survey, mark them on the roof: {', '.join(marks)}.")
    yield heading("To order, by length", 3)
    yield by_length(quantities, choice.framing.purlin_stock_m, system)
    yield small(ORDER)
    yield heading("Sizes as counted here: the engineer’s drawings settle them", 3)
    yield steel(choice.framing, system)
    yield heading("Sizes and pieces", 3)
    yield sized(taken, but=LOADS)
    yield heading("Cut list by mark, without posts", 3)
    yield _cut_list(quantities["cut_list"], system)
    lap = fmt.cut_length(units.from_core(choice.framing.purlin_lap_m, "length", system), system)
    splice = f"half the lap of {lap} to each side" if choice.framing.purlin_lap_m else BUTTED
    yield small(f"Lengths are rounded up to the next {STEPS[system]}. {NET.format(splice=splice)}")
    yield from listed(taken, TRIMS)
    yield from gutters(taken, choice.framing, system)


def _placed(quantities: Reply, part: Rectangle, number: int, system: units.System) -> Block:
    """Where all of a part stands or lies, from its front left corner, and how long posts are."""
    unit = fmt.CUT_UNIT[system]
    rows: list[Sequence[Cell]] = []
    for name, title in LISTS.items():
        found = [one for one in quantities[name] if one["rectangle"] == number]
        rows += [[title]] * bool(found and title)
        rows += [_row(one, part, system) for one in found]
    return table(
        [("Mark", 1.3, "left"), ("Stands on, or what it is", 2.0, "left"),
         (f"x, {unit}", 1.5, "left"), (f"y, {unit}", 1.3, "left"), (f"Every, {unit}", 0.7, "right"),
         ("Pieces", 0.6, "right"), (f"Length of one, {unit}", 1.0, "right"),
         (f"Top over level 0, {unit}", 1.0, "right")],
        rows, dense=True,
    )  # fmt: skip


def _row(one: Reply, part: Rectangle, system: units.System) -> Sequence[Cell]:
    """Where a row of posts, a member, a bracing line, or ventilators and downspouts are."""

    def cut(name: str) -> str:
        return fmt.cut_length(one[name], system) if one.get(name) else ""

    what = f"bay to the posts at {cut('bay')}" if "bay" in one else one.get("stands_on")
    if what is None:
        what = ", ".join([one["what"], *([one["along"]] if "along" in one else [])])
    if one.get("over", part) not in (part, one["rectangle"]):
        what += f", part {one['over']}"
    many = one.get("posts", one.get("number", 1))
    first = one.get("first", one.get("at"))
    along = _span([first, one.get("last", first + (many - 1) * one.get("spacing", 0.0))], system)
    up = "whole fall" if "bay" in one else _up(one, part, system)
    x, y = (along, up) if one["edge"] == "left" else (up, along)
    counted = "posts" in one or _kind({"what": "", **one}) in COUNTED_PIECES
    return (one["mark"], what, x, y, cut("spacing"), f"{many:,}" if counted else "",
            cut("length") if "posts" in one else "", cut("top"))  # fmt: skip


def _up(one: Reply, part: Rectangle, system: units.System) -> str:
    """Return how far a row lies from the front or left edge of its part, up its fall."""
    if one.get("along") == "ridge":
        one = {**one, "fall": part.drains_to,
               "from_eave": units.from_core(part.top_m, "length", system)}  # fmt: skip
    if "from_eave" not in one:
        return ""
    ends = [one["from_eave"], one.get("to_eave", one["from_eave"])]
    deep = {"back": part.width_m, "right": part.length_m}.get(one["fall"])
    if deep is not None:
        ends = sorted(units.from_core(deep, "length", system) - each for each in ends)
    return _span(ends, system)


def _span(ends: Sequence[float], system: units.System) -> str:
    """Return one distance from an edge, or two; one beyond the edge has a minus sign.

    Examples
    --------
    >>> print(_span([5.0, 10.0], "ip"), _span([-2.5, -2.5], "ip"), sep="; ")
    5'-0" to 10'-0"; −2'-6"
    """
    found = [f"{fmt.MINUS if value < 0 else ''}{fmt.cut_length(abs(value), system)}"
             for value in ends]  # fmt: skip
    return " to ".join(dict.fromkeys(found))


def _cut_list(pieces: Sequence[Reply], system: units.System) -> Block:
    """Every mark but those of posts with its pieces and their length, to be verified."""
    return table(
        [("Mark", 1.6, "left"), ("What", 2.2, "left"), ("Pieces", 0.7, "right"),
         (f"Length of one, {fmt.CUT_UNIT[system]}", 1.1, "right")],
        ((one["mark"], one["what"], f"{one['pieces']:,}",
          fmt.cut_length(one["length"], system) if one["length"] else "")
         for one in pieces if one["what"] != POST),
        dense=True, halves=True,
    )  # fmt: skip


def by_length(quantities: Reply, purlin_stock_m: float, system: units.System) -> Block:
    """How many of each length are ordered: purlins in stock lengths, diagonals to cut in place."""
    stock = units.from_core(purlin_stock_m, "length", system)
    cut = [(_kind(one), one) for one in quantities["cut_list"] if one["length"]]
    found: dict[tuple[str, str], list[Reply]] = {}
    for kind, one in sorted(cut, key=lambda each: (each[0] != POST, each[0], each[1]["length"])):
        if kind not in (PURLIN, DIAGONAL):
            found.setdefault((kind, fmt.cut_length(one["length"], system)), []).append(one)
    rows = [(what, each, alike) for (what, each), alike in found.items()]
    if braces := [one for kind, one in cut if kind == DIAGONAL]:
        longest = fmt.cut_length(max(one["length"] for one in braces), system)
        rows.append(("diagonals, cut in place, the longest", longest, braces))
    sticks = {"length": stock, "pieces": quantities["members"]["purlin_sticks"]}
    rows.append(("purlin, stock length", fmt.cut_length(stock, system), [sticks]))
    return table(
        [("What", 1.6, "left"), (f"Length of one, {fmt.CUT_UNIT[system]}", 1.2, "right"),
         ("Pieces", 0.8, "right"), ("Together, rounded up", 1.0, "right")],
        ((what, each, f"{sum(one['pieces'] for one in alike):,}",
          _long(sum(one["pieces"] * one["length"] for one in alike), system))
         for what, each, alike in rows),
        dense=True, halves=True,
    )  # fmt: skip


def _kind(piece: Reply) -> str:
    """Return what a piece of the cut list is, without its wind zone or its place.

    Examples
    --------
    >>> [_kind({"what": each}) for each in ("purlin, edge zone", "diagonal along line 7")]
    ['purlin', 'diagonal']
    """
    what: str = piece["what"].partition(",")[0]
    return DIAGONAL if what.startswith(DIAGONAL) else what


def _long(value: float, system: units.System) -> str:
    """Return a length to order by, up to a whole foot or metre."""
    return f"{math.ceil(value - 1e-6):,} {units.unit('length', system).display}"
