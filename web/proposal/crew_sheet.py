"""The crew's sheet: what is cut and set, by mark and length, to be verified in the field."""

import math
from collections.abc import Iterator, Sequence

from lcc import units
from lcc.case import MetalRetrofit
from lcc.caution_texts import CLIMB, FIRE, STRUCTURE
from web import format as fmt
from web.answer_tables import amount
from web.charts import Reply
from web.proposal.annex_flags import cautioned
from web.proposal.annex_quantities import figure, flags_of, listed, purlin_stock
from web.proposal.blocks import Block, blanks, bullets, heading, sheet, small, table, text
from web.proposal.engineer_sheet import by_distance
from web.proposal.offer import Offer
from web.quantities_table import GUTTERS, TRIMS, Takeoff

LEAD = (
    "Verify every length in the field before cutting: heights come from a survey, and an old deck "
    "is not level. Build from the engineer’s drawings, not from this sheet. First read the "
    "cautions at its end."
)
SUBJECTS = (CLIMB, STRUCTURE, FIRE)  # the cautions of this sheet
BY_HAND = (
    "Deck height at the four corners and the drains",
    "Soft, wet or rusted deck: where",
    "Skylights and openings covered or guarded: who",
    "Anchor points for fall protection: where",
    "Purlins: stock length, lap and splice, by the engineer’s drawings",
)


# As the cut list calls them.
POST = "post"
PURLIN = "purlin"
DIAGONAL = "diagonal"
CROSS = "cross member"
ORDER = (
    "Nothing is added for breakage, nor for end plates. Panels are as long as their bare run: add "
    "what hangs over the gutter and what is turned up at the top. Order posts, members "
    "and panels when the field lengths are known. No stock length is entered for posts and "
    "bracing: ask the supplier."
)
STEPS = {"ip": "sixteenth of an inch", "si": "millimetre"}
ROUNDED_UP = {name: f"Lengths in this table are rounded up to a whole {whole} to order by; the "
              "bill of quantities has them to three figures."
              for name, whole in (("ip", "foot"), ("si", "metre"))}  # fmt: skip
NET = (
    "Purlins are spliced over posts or cross members, half the lap of the survey to each side; the "
    "engineer confirms each splice. Every diagonal of a bracing line is listed by itself, foot to "
    "head of its posts without end plates: measure and cut each one in place."
)
LAID = (
    "Measured in plan, as posts are. Cross members lie evenly from the first to the last, up the "
    "fall from line to line of posts. A purlin is in as many pieces as the cut list says."
)
BRACED = (
    "A bracing line runs up its fall over the posts named: a diagonal from each row of posts to "
    "the next, foot to head, and one in each row along the bay. Each is in the cut list; a line "
    "over a ridge has a mark on both falls and counts once."
)
MARKS = (
    "A mark is a name, not a distance. Measure every line from its eave and the first post along "
    "it from the edge named, on the level, not down the slope; below 0 lies beyond the edge, over "
    "the neighbouring part. Edges and eaves are those of the plan entered, to which the outermost "
    "posts are set: before the first line is snapped, settle whether that is the outside of the "
    "wall, the edge of the deck or the inside of the parapet, and how far posts stand in. "
    "Posts stand on the joists or beams of the old roof: find these first. "
    "Where none is under the place listed, ask the engineer before a post is moved."
)


def crew_sheet(offer: Offer) -> Block:
    """Return the sheet for the crew."""
    return sheet(
        "Sheet for the crew",
        [text(LEAD), heading("Found on the roof before work begins"), blanks(BY_HAND),
         *(block for each in offer.surveyed for block in _blocks(offer, *each)),
         *cautioned(offer, SUBJECTS)],
    )  # fmt: skip


def _blocks(offer: Offer, taken: Takeoff, choice: MetalRetrofit, result: Reply) -> Iterator[Block]:
    system, quantities = offer.reply["units"], result["quantities"]
    yield heading(taken.name)
    work = list(_before(quantities, system))
    if work:
        yield heading("Work before and beside the frame", 3)
        yield bullets(work)
    yield from map(figure, taken.sections)
    yield from _places(quantities, system)
    yield heading("To order, by length", 3)
    assert choice.framing is not None
    yield by_length(quantities, choice.framing.purlin_stock_m, system)
    yield small(ORDER)
    yield heading("Purlins, bracing, panels and openings", 3)
    yield _pieces(quantities, system)
    yield small(purlin_stock(choice, quantities["members"], system))
    yield small(ROUNDED_UP[system])
    yield heading("Posts: how long they are cut", 3)
    yield _posts(quantities, system)
    yield heading("Cut list by mark", 3)
    yield _cut_list(quantities["cut_list"], system)
    yield small(f"Lengths are rounded up to the next {STEPS[system]}. {NET}")
    yield from listed(taken, TRIMS)
    yield from listed(taken, GUTTERS)
    yield figure(taken.plan, plan=True)
    found = list(flags_of(result, system))
    if found:
        yield heading("Flags of the survey", 3)
        yield bullets(found)


def _places(quantities: Reply, system: units.System) -> Iterator[Block]:
    """Yield where all members stand or lie, to be set out with a tape."""
    yield heading("Posts: where they stand", 3)
    yield _set_out(quantities["set_out"], system)
    yield small(MARKS)
    if quantities["laid"]:
        yield heading("Cross members and purlins of wind zones: where they lie", 3)
        yield _laid(quantities["laid"], system)
        yield small(LAID)
    if quantities["bracing"]:
        yield heading("Bracing: where it stands", 3)
        yield _braced(quantities["bracing"], system)
        yield small(BRACED)
    if quantities["along"]:
        yield heading("Ventilators and downspouts: where they stand", 3)
        yield _along(quantities["along"], system)


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


def _set_out(rows: Sequence[Reply], system: units.System) -> Block:
    """Where every post stands: its line from the eave, the first along it, the space between."""
    unit = fmt.CUT_UNIT[system]
    rows = by_distance(rows)
    wings = any(one["over"] != one["rectangle"] for one in rows)  # posts on a neighbour's old roof
    on = [("On old roof of", 0.9, "left")] if wings else []
    return table(
        [("Mark", 1.6, "left"), ("Eave", 0.7, "left"),
         (f"Line from the eave, {unit}", 1.0, "right"), ("Along it from", 0.9, "left"),
         (f"First post, {unit}", 0.9, "right"),
         (f"Space, {unit}", 0.9, "right"), ("Posts", 0.6, "right"), *on],
        ((one["mark"], one["fall"], fmt.cut_length(one["from_eave"], system),
          f"{one['edge']} edge", _placed(one["first"], system),
          fmt.cut_length(one["spacing"], system) if one["spacing"] else "", f"{one['posts']:,}",
          *([f"part {one['over']}"] if wings else []))
         for one in rows),
        dense=True,
    )  # fmt: skip


def _laid(rows: Sequence[Reply], system: units.System) -> Block:
    """Where every cross member lies, and every purlin that no row of posts places."""
    unit = fmt.CUT_UNIT[system]
    return table(
        [("Mark", 1.2, "left"), ("What", 1.8, "left"), ("Eave", 0.6, "left"),
         (f"From the eave, {unit}", 1.2, "right"), ("Along it from", 0.8, "left"),
         (f"First, or start, {unit}", 0.9, "right"), (f"Last, or end, {unit}", 0.9, "right"),
         ("Pieces", 0.6, "right")],
        ((one["mark"], one["what"], one["fall"], _up(one, system), f"{one['edge']} edge",
          _placed(one["first"], system), _placed(one["last"], system),
          f"{one['number']:,}" if one["what"] == CROSS else "") for one in rows),
        dense=True,
    )  # fmt: skip


def _up(row: Reply, system: units.System) -> str:
    """Return how far from the eave a row lies: a purlin at one distance, cross members to another.

    Examples
    --------
    >>> print(_up({"from_eave": 5.0, "to_eave": 10.0}, "ip"))
    5'-0" to 10'-0"
    """
    low, high = (_placed(row[name], system) for name in ("from_eave", "to_eave"))
    return low if low == high else f"{low} to {high}"


def _braced(rows: Sequence[Reply], system: units.System) -> Block:
    """Where every bracing line stands along its eave, and the bay that it braces."""
    unit = fmt.CUT_UNIT[system]
    return table(
        [("Mark", 1.6, "left"), ("Eave", 0.7, "left"), ("Along it from", 0.9, "left"),
         (f"Over the posts at, {unit}", 1.0, "right"),
         (f"Along a purlin to the posts at, {unit}", 1.2, "right")],
        ((one["mark"], one["fall"], f"{one['edge']} edge", fmt.cut_length(one["at"], system),
          fmt.cut_length(one["bay"], system)) for one in rows),
        dense=True,
    )  # fmt: skip


def _along(rows: Sequence[Reply], system: units.System) -> Block:
    """Where ventilators and downspouts stand along their ridge or eave, evenly spread."""
    unit = fmt.CUT_UNIT[system]
    return table(
        [("Mark", 1.2, "left"), ("What", 0.9, "left"), ("Along", 2.0, "left"),
         ("From", 0.8, "left"), (f"First at, {unit}", 0.9, "right"),
         (f"Space, {unit}", 0.9, "right"), ("Pieces", 0.6, "right")],
        ((one["mark"], one["what"], f"part {one['rectangle']}, {one['along']}",
          f"{one['edge']} edge", _placed(one["first"], system),
          fmt.cut_length(one["spacing"], system) if one["spacing"] else "", f"{one['number']:,}")
         for one in rows),
        dense=True,
    )  # fmt: skip


def _placed(value: float, system: units.System) -> str:
    """Return a distance from an edge; one beyond it has a minus sign."""
    return f"{fmt.MINUS if value < 0 else ''}{fmt.cut_length(abs(value), system)}"


def _posts(quantities: Reply, system: units.System) -> Block:
    """Every post once, and how long it is cut, line by line from the eave up."""
    lines = {name: row for row in by_distance(quantities["posts"]) for name in _marks(row)}
    cut = [one for one in quantities["cut_list"] if one["what"] == POST]
    order = {name: place for place, name in enumerate(lines)}
    cut.sort(key=lambda one: order.get(one["mark"].partition("-")[0], len(order)))
    return table(
        [("Mark", 1.6, "left"), ("Pieces", 0.7, "right"),
         (f"Length of one, {fmt.CUT_UNIT[system]}", 1.0, "right")],
        ((one["mark"], f"{one['pieces']:,}", fmt.cut_length(one["length"], system)) for one in cut),
        dense=True, halves=True,
    )  # fmt: skip


def _marks(row: Reply) -> list[str]:
    """Return the marks of a row of posts: "P3.L1, R1" stands for two lines.

    Examples
    --------
    >>> _marks({"mark": "P3.L1, R1"})
    ['P3.L1', 'P3.R1']
    """
    first, *others = row["mark"].split(", ")
    return [first, *(f"{first.partition('.')[0]}.{one}" for one in others)]


def _cut_list(pieces: Sequence[Reply], system: units.System) -> Block:
    """Every mark but those of posts with its pieces and their length, to be verified."""
    return table(
        [("Mark", 1.6, "left"), ("What", 1.8, "left"), ("Pieces", 0.7, "right"),
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


def _pieces(quantities: Reply, system: units.System) -> Block:
    """Numbers and lengths of what there is of each."""
    members, services = quantities["members"], quantities["services"]
    panel = quantities["surface"]["longest_panel"]
    purlins = members["purlins"] + members["purlin_laps"]
    lines = {
        "Purlins, laps included": (members["purlin_lines"], purlins),
        "Diagonal bracing, a line over a ridge once": (
            members["bracing_lines"], members["bracing"],
        ),
    }  # fmt: skip
    pieces = {"Clips": members["clips"], "Fasteners": members["fasteners"],
              "New curbs": services["curbs"], "Pipes and conduits": services["penetrations"],
              "Ventilators": quantities["cavity"]["ventilators"],
              "Skylights carried through": services["skylights_carried"],
              "Skylights covered over": services["skylights_covered"],
              "Scuppers through parapets": services["scuppers"],
              "Overflow scuppers": services["overflow_scuppers"],
              "Old roof drains closed": services["drains_abandoned"],
              "Downspouts tied into the storm drain": services["storm_ties"]}  # fmt: skip

    rows = [(what, f"{count} lines", _long(value, system))
            for what, (count, value) in lines.items()]  # fmt: skip
    rows.append(("Panels", f"{members['panels']:,}", f"longest {fmt.cut_words(panel, system)}"))
    rows += [(what, f"{count:,}", "") for what, count in pieces.items() if count]
    rows += [(what, "", _long(value, system))
             for what, value in _lengths(quantities).items() if value]  # fmt: skip
    rows += [(what, "", amount({"value": value, "kind": kind}, system))
             for what, value, kind in _areas(quantities) if value]  # fmt: skip
    if down := sum(one["downspouts"] for one in quantities["drainage"]):
        rows.append(("Downspouts, their length is not in the survey", f"{down:,}", "measure"))
    return table(
        [
            ("What", 1.6, "left"),
            ("Pieces", 0.8, "right"),
            ("Together, lengths rounded up", 1.0, "right"),
        ],
        rows,
    )


def _lengths(quantities: Reply) -> dict[str, float]:
    """What is ordered by length."""
    members, edges = quantities["members"], quantities["edges"]
    services = quantities["services"]
    return {"Cross members under purlins": members["cross_members"],
            "Supports under valleys": members["valley_support"],
            "Eave trim": edges["eave"], "Gutter": edges["gutter"],
            "Inner gutter": edges["inner_gutter"], "Ridge": edges["ridge"], "Hip": edges["hip"],
            "Valley": edges["valley"], "Rake": edges["rake"], "High edge": edges["high_edge"],
            "Flashing at a wall or a higher roof": edges["joint"],
            "Wall flashing at parapets": edges["parapet_flashing"],
            "Expansion joint": services["expansion_joint"]}  # fmt: skip


def _areas(quantities: Reply) -> list[tuple[str, float, str]]:
    """What is ordered by area or volume, with the kind of each figure."""
    surface, edges, cavity = (quantities[name] for name in ("surface", "edges", "cavity"))
    return [
        ("Wall girts and cladding", edges["walls"], "area"),
        ("Inlet louvres, free opening", cavity["inlet_area"], "area"),
        ("Insulation on the old roof, area", surface["insulation_area"], "area"),
        ("Insulation on the old roof, volume", surface["insulation_volume"], "volume"),
    ]
