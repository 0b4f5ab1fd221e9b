"""The crew's sheet: what is cut and set, by mark and length, to be verified in the field."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from lcc import units
from lcc.case import MetalRetrofit
from lcc.caution_texts import CLIMB, FIRE, STRUCTURE
from web import format as fmt
from web.answer_tables import amount
from web.charts import Reply
from web.proposal.annex_flags import cautioned
from web.proposal.annex_quantities import figure, flags_of
from web.proposal.blocks import Block, blanks, bullets, heading, sheet, small, table
from web.proposal.engineer_sheet import drainage, posts
from web.proposal.offer import Offer, surveyed
from web.quantities_table import Takeoff

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


STEPS = {"ip": "sixteenth of an inch", "si": "millimetre"}
NET = (
    "Purlins are cut from the stock length of the survey, with its lap at each splice: where "
    "splices may stand is the engineer’s. A line of bracing is listed by all its diagonals "
    "together, one between each two neighbouring rows of posts: measure and cut each one in place."
)
MARKS = (
    "A mark is a name, not a distance: set out by the column “From the eave”, in whose order the "
    "lines stand here and are numbered. The drawing in section shows one cut only, and not every "
    "line."
)


def crew_sheet(offer: Offer) -> Block:
    """Return the sheet for the crew."""
    return sheet(
        "Sheet for the crew",
        LEAD,
        [heading("Found on the roof before work begins"), blanks(BY_HAND),
         *(block for each in surveyed(offer) for block in _blocks(offer, *each)),
         *cautioned(offer, SUBJECTS)],
    )  # fmt: skip


def _blocks(offer: Offer, taken: Takeoff, _: MetalRetrofit, result: Reply) -> Iterator[Block]:
    system, quantities = offer.reply["units"], result["quantities"]
    yield heading(taken.name)
    work = list(_before(quantities, system))
    if work:
        yield heading("Work before and beside the frame", 3)
        yield bullets(work)
    yield figure(taken.section)
    yield heading("Posts by line", 3)
    yield posts(quantities, system)
    yield small(MARKS)
    yield heading("Cut list by mark", 3)
    yield _cut_list(quantities["cut_list"], system)
    yield small(f"Lengths are rounded up to the next {STEPS[system]}. {NET}")
    yield heading("Purlins, bracing, panels and openings", 3)
    yield _pieces(quantities, system)
    yield from drainage(quantities, system)
    yield figure(taken.plan)
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
        yield (f"Rooftop units to lift: {services['rooftop_units']}, with {services['curbs']} new "
               f"curbs; crane days: {services['crane_days']}. Weights are not surveyed: ask for "
               "them before a lift is planned.")  # fmt: skip
    if services["tear_out"]:
        torn = amount({"value": services["tear_out"], "kind": "area"}, system)
        yield f"Wet area to tear out: {torn}."
    if services["skylights_carried"] or services["skylights_covered"]:
        yield "Skylights: their places are not surveyed and not on the drawings. Guard each one."


def _cut_list(pieces: Sequence[Reply], system: units.System) -> Block:
    """Every mark with its pieces and their length, to be verified in the field."""
    return table(
        [("Mark", 1.6, "left"), ("What", 2.0, "left"), ("Pieces", 0.7, "right"),
         (f"Length of one, {fmt.CUT_UNIT[system]}", 1.0, "right")],
        ((one["mark"], one["what"], f"{one['pieces']:,}",
          fmt.cut_length(one["length"], system) if one["length"] else "") for one in pieces),
        dense=True,
    )  # fmt: skip


def _pieces(quantities: Reply, system: units.System) -> Block:
    """Numbers and lengths of what there is of each."""
    unit = units.unit("length", system).display
    members, services = quantities["members"], quantities["services"]
    edges, panel = quantities["edges"], quantities["surface"]["longest_panel"]
    lines = {"Purlins": (members["purlin_lines"], members["purlins"]),
             "Diagonal bracing": (members["bracing_lines"], members["bracing"])}  # fmt: skip
    lengths = {"Cross members under purlins": members["cross_members"], "Gutter": edges["gutter"],
               "Inner gutter": edges["inner_gutter"], "Ridge": edges["ridge"], "Hip": edges["hip"],
               "Valley": edges["valley"], "Rake": edges["rake"], "High edge": edges["high_edge"],
               "Step between roofs, wall flashing": edges["joint"],
               "Wall flashing at parapets": edges["parapet_flashing"],
               "Expansion joint": services["expansion_joint"]}  # fmt: skip
    pieces = {"Clips": members["clips"], "Fasteners": members["fasteners"],
              "New curbs": services["curbs"], "Pipes and conduits": services["penetrations"],
              "Ventilators": quantities["cavity"]["ventilators"],
              "Skylights carried through": services["skylights_carried"],
              "Skylights covered over": services["skylights_covered"],
              "Old roof drains closed": services["drains_abandoned"],
              "Downspouts tied into the storm drain": services["storm_ties"]}  # fmt: skip

    def long(value: float) -> str:
        return f"{math.ceil(value - 1e-6):,} {unit}"

    rows = [(what, f"{count} lines", long(value)) for what, (count, value) in lines.items()]
    rows.append(("Panels", f"{members['panels']:,}", f"longest {fmt.cut_length(panel, system)}"))
    rows += [(what, f"{count:,}", "") for what, count in pieces.items() if count]
    rows += [(what, "", long(value)) for what, value in lengths.items() if value]
    return table(
        [
            ("What", 1.6, "left"),
            ("Pieces", 0.8, "right"),
            ("Length together, rounded up", 1.0, "right"),
        ],
        rows,
    )
