"""The crew's sheet: what is cut and set, by mark and length, to be verified in the field."""

from __future__ import annotations

from collections.abc import Iterator

from lcc import units
from lcc.case import MetalRetrofit
from web import format as fmt
from web.charts import Reply
from web.proposal.annex_flags import cautioned
from web.proposal.annex_quantities import figure
from web.proposal.blocks import Block, blanks, heading, sheet, table
from web.proposal.engineer_sheet import posts
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
         *cautioned(offer, ("Before anyone climbs up", "Fire and code")), blanks(BY_HAND)],
    )  # fmt: skip


def _blocks(offer: Offer, taken: Takeoff, _: MetalRetrofit, result: Reply) -> Iterator[Block]:
    system, quantities = offer.reply["units"], result["quantities"]
    yield heading(taken.name)
    yield figure(taken.section)
    yield heading("Posts: cut list", 3)
    yield posts(quantities, system)
    yield heading("Purlins, bracing, panels and openings", 3)
    yield _pieces(quantities, system)
    yield figure(taken.plan)


def _pieces(quantities: Reply, system: units.System) -> Block:
    unit = units.unit("length", system).display
    members, services = quantities["members"], quantities["services"]
    surface, edges = quantities["surface"], quantities["edges"]

    def long(value: float) -> str:
        return f"{fmt.shown(value, 'length')} {unit}"

    rows = [
        ("Purlins", f"{members['purlin_lines']} lines", long(members["purlins"])),
        ("Diagonal bracing", f"{members['bracing_lines']} lines", long(members["bracing"])),
        ("Panels", f"{members['panels']:,}", f"longest {long(surface['longest_panel'])}"),
        ("Clips", f"{members['clips']:,}", ""),
        ("Fasteners", f"{members['fasteners']:,}", ""),
        ("Gutter", "", long(edges["gutter"])),
        ("Ridge", "", long(edges["ridge"])),
        ("Rake", "", long(edges["rake"])),
        ("New curbs", f"{services['curbs']}", ""),
        ("Pipes and conduits", f"{services['penetrations']}", ""),
        ("Ventilators", f"{quantities['cavity']['ventilators']}", ""),
    ]
    return table([("What", 1.4, "left"), ("Pieces", 1.0, "right"), ("Length", 1.0, "right")], rows)
