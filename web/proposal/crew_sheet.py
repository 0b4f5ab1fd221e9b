"""The crew's sheet: what is cut and set, by mark and length, to be verified in the field."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from lcc import units
from lcc.case import MetalRetrofit
from lcc.caution_texts import CLIMB, FIRE, STRUCTURE
from web import format as fmt
from web.charts import Reply
from web.proposal.annex_flags import cautioned
from web.proposal.annex_quantities import figure, flags_of
from web.proposal.blocks import Block, blanks, bullets, heading, sheet, table
from web.proposal.engineer_sheet import drainage, posts
from web.proposal.offer import Offer, surveyed
from web.quantities_table import Takeoff

LEAD = (
    "Verify every length in the field before cutting: heights come from a survey, and an old deck "
    "is not level. Build from the engineer’s drawings, not from this sheet."
)
BY_HAND = (
    "Deck height at the four corners and the drains",
    "Soft, wet or rusted deck: where",
    "Skylights and openings covered or guarded: who",
    "Anchor points for fall protection: where",
)


def crew_sheet(offer: Offer) -> Block:
    """Return the sheet for the crew."""
    return sheet(
        "Sheet for the crew",
        LEAD,
        [*(block for each in surveyed(offer) for block in _blocks(offer, *each)),
         *cautioned(offer, (CLIMB, STRUCTURE, FIRE)), blanks(BY_HAND)],
    )  # fmt: skip


def _blocks(offer: Offer, taken: Takeoff, _: MetalRetrofit, result: Reply) -> Iterator[Block]:
    system, quantities = offer.reply["units"], result["quantities"]
    yield heading(taken.name)
    yield figure(taken.section)
    yield heading("Posts by line", 3)
    yield posts(quantities, system)
    yield heading("Cut list by mark", 3)
    yield _cut_list(quantities["cut_list"], system)
    yield heading("Purlins, bracing, panels and openings", 3)
    yield _pieces(quantities, system)
    yield from drainage(quantities, system)
    yield figure(taken.plan)
    found = list(flags_of(result))
    if found:
        yield heading("Flags of the survey", 3)
        yield bullets(found)


def _cut_list(pieces: Sequence[Reply], system: units.System) -> Block:
    """Every mark with its pieces and their length, to be verified in the field."""
    unit = units.unit("length", system).display
    return table(
        [("Mark", 1.6, "left"), ("What", 2.0, "left"), ("Pieces", 0.7, "right"),
         (f"Length of one, {unit}", 1.0, "right")],
        ((one["mark"], one["what"], f"{one['pieces']:,}",
          fmt.shown(one["length"], "length") if one["length"] else "") for one in pieces),
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
        return f"{fmt.shown(value, 'length')} {unit}"

    rows = [(what, f"{count} lines", long(value)) for what, (count, value) in lines.items()]
    rows.append(("Panels", f"{members['panels']:,}", f"longest {long(panel)}"))
    rows += [(what, f"{count:,}", "") for what, count in pieces.items() if count]
    rows += [(what, "", long(value)) for what, value in lengths.items() if value]
    return table([("What", 1.6, "left"), ("Pieces", 0.8, "right"), ("Length", 1.0, "right")], rows)
