"""The engineer's sheet: what a surveyed retrofit adds, where, and what is to be decided."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from lcc import units
from lcc.case import MetalRetrofit
from web import format as fmt
from web.charts import Reply
from web.proposal.annex_flags import cautioned
from web.proposal.annex_quantities import figure, flags_of, layered
from web.proposal.blocks import Block, Column, blanks, bullets, heading, sheet, small, table
from web.proposal.offer import Offer, surveyed
from web.quantities_table import Takeoff

LEAD = (
    "Figures of a budget survey, for a licensed structural engineer to check and to replace. "
    "Nothing here is a design, and nothing here is an approval."
)
# What the tool cannot answer; each is a line to write on.
QUESTIONS = (
    "Basic wind speed, exposure, risk category, edition of the standard",
    "Uplift in field, edge and corner; clip and purlin spacing there",
    "Ground snow load; drift at steps, parapets and units",
    "Capacity of the roof structure for the load added",
    "Where posts may stand: joists, beams, walls; deck between them",
    "Deck: kind, thickness, condition, pull-out of anchors",
    "Lateral load path; bracing of the new frame to the building",
    "Posts, bases, purlins and bracing: section and grade",
    "Thermal movement: fixed point and clips",
    "Rooftop units, curbs and openings: framing around them",
)


def engineer_sheet(offer: Offer) -> Block:
    """Return the sheet for the structural engineer."""
    return sheet(
        "Sheet for the structural engineer",
        LEAD,
        [*(block for each in surveyed(offer) for block in _blocks(offer, *each)), *layered(offer),
         *cautioned(offer, ("Structure",)), heading("To be decided by the engineer"),
         blanks(QUESTIONS), blanks(("Engineer, licence", "Date"))],
    )  # fmt: skip


def _blocks(
    offer: Offer, taken: Takeoff, retrofit: MetalRetrofit, result: Reply
) -> Iterator[Block]:
    system = offer.reply["units"]
    quantities = result["quantities"]
    yield heading(taken.name)
    yield heading("Load added to the roof", 3)
    yield from _loads(quantities, system)
    yield heading("Posts by line", 3)
    framing: Any = retrofit.framing
    yield posts(quantities, system, units.from_core(framing.post_spacing_m, "length", system))
    yield small(
        "The strip halfway to the neighbouring lines times the spacing of posts, from the load "
        "over the plan area; no snow, wind or ponding. The engineer sets reactions."
    )
    yield heading("Members and spacing", 3)
    yield _members(retrofit, quantities, system)
    yield figure(taken.plan)
    yield heading("Flags of the survey", 3)
    yield bullets(flags_of(result))


def _loads(quantities: Reply, system: units.System) -> Iterator[Block]:
    mass, load = (units.unit(kind, system).display for kind in ("mass", "mass_per_area"))
    rows = [(one["component"], fmt.shown(one["mass"]), fmt.shown(one["load"]))
            for one in quantities["loads"]]  # fmt: skip
    whole = sum(one["mass"] for one in quantities["loads"])
    rows.append(("All components", fmt.shown(whole), fmt.shown(quantities["total_load"])))
    yield table([("Component", 2.0, "left"), (f"Mass, {mass}", 1.0, "right"),
                 (f"Over the plan area, {load}", 1.0, "right")], rows)  # fmt: skip
    torn = quantities["services"]["tear_out"]
    area = units.unit("area", system).display
    yield small(
        f"Taken off by this survey: {fmt.shown(torn, 'area')} {area} of wet roofing, whose weight "
        "is not subtracted above."
        if torn
        else "Nothing is taken off by this survey: coverings, ballast and insulation stay."
    )


def posts(quantities: Reply, system: units.System, spacing: float | None = None) -> Block:
    """Return the posts of every line with their height, and what stands on each.

    Parameters
    ----------
    quantities : mapping
        The takeoff in the reply.
    system : "ip" or "si"
    spacing : float, optional
        Distance of posts along a purlin [length of the system], for the dead load on a post.
    """
    length, mass = (units.unit(kind, system).display for kind in ("length", "mass"))
    rows = quantities["posts"]
    columns: list[Column] = [
        ("Mark", 0.7, "left"), ("Part", 0.5, "right"), ("Line from the eave", 0.9, "right"),
        (f"From the eave, {length}", 1.0, "right"), (f"Height, {length}", 0.9, "right"),
        ("Rows", 0.6, "right"), ("Posts", 0.7, "right"),
    ]  # fmt: skip
    cells = [
        (mark(row), str(row["rectangle"]), str(row["line"]),
         fmt.shown(row["from_eave"], "length"), fmt.shown(row["height"], "length"),
         str(row["rows"]), f"{row['posts']:,}")
        for row in rows
    ]  # fmt: skip
    if spacing is None:
        return table(columns, cells)
    carried = [fmt.shown(quantities["total_load"] * spacing * wide) for wide in shares(rows)]
    columns.append((f"Dead load added on a post, {mass}", 1.3, "right"))
    return table(columns, ((*row, load) for row, load in zip(cells, carried, strict=True)))


def shares(rows: Sequence[Reply]) -> list[float]:
    """Return the strip of roof that each line of posts carries, halfway to its neighbours.

    Examples
    --------
    An eave line, a line within, and a ridge line that both falls share:

    >>> rows = [{"rectangle": 1, "from_eave": x, "rows": n} for x, n in ((0, 2), (5, 2), (10, 1))]
    >>> shares(rows)
    [2.5, 5.0, 5.0]
    """
    found = []
    for place, row in enumerate(rows):
        beside = [rows[n] for n in (place - 1, place + 1) if 0 <= n < len(rows)]
        near = [abs(one["from_eave"] - row["from_eave"]) for one in beside
                if one["rectangle"] == row["rectangle"]]  # fmt: skip
        shared = len(near) == 1 and row["from_eave"] > 0 and row["rows"] == 1
        found.append(sum(near) / 2 * (2 if shared else 1))
    return found


def mark(row: Reply) -> str:
    """Return the mark of the posts of a line: part and line.

    Examples
    --------
    >>> mark({"rectangle": 2, "line": 7})
    'P2.7'
    """
    return str(row.get("mark") or f"P{row['rectangle']}.{row['line']}")


def _members(retrofit: MetalRetrofit, quantities: Reply, system: units.System) -> Block:
    framing: Any = retrofit.framing

    def length(value: float, kind: str = "length") -> str:
        shown = fmt.shown(units.from_core(value, kind, system), kind)
        return f"{shown} {units.unit(kind, system).display}"

    members, services = quantities["members"], quantities["services"]
    rows = [
        ("Posts along a purlin", length(framing.post_spacing_m)),
        ("Purlins down the slope", f"{length(framing.purlin_spacing_m)}, "
         f"{members['purlin_lines']} lines"),
        ("Purlin depth", length(framing.purlin_depth_m, "thickness")),
        ("Bracing", f"every {length(framing.brace_spacing_m)}, {members['bracing_lines']} lines"
         if framing.bracing else "none"),
        ("Panel", f"{framing.panel_metal}, {length(framing.panel_thickness_m, 'thickness')}, "
         f"cover {length(framing.panel_cover_m, 'thickness')}"),
        ("Clips and fasteners", f"{members['clips']:,} clips, {members['fasteners']:,} fasteners"),
        ("Openings", f"{services['curbs']} curbs, {services['penetrations']} pipes and conduits, "
         f"{quantities['cavity']['ventilators']} ventilators"),
    ]  # fmt: skip
    return table([("What", 1.2, "left"), ("As surveyed", 2.4, "left")], rows)
