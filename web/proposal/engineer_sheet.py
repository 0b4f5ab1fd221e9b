"""The engineer's sheet: what a surveyed retrofit adds, where, and what is to be decided."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from lcc import units
from lcc.case import MetalRetrofit
from lcc.case.rectangle import OPPOSITE
from web import format as fmt
from web.charts import Reply
from web.proposal.annex_flags import cautioned
from web.proposal.annex_quantities import figure, flags_of, layered
from web.proposal.blocks import (
    Block,
    Cell,
    Column,
    blanks,
    bullets,
    heading,
    marked,
    sheet,
    small,
    table,
    text,
)
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
    yield heading("Load added, and load taken off", 3)
    yield from _loads(quantities, system)
    yield heading("Posts by line", 3)
    yield posts(quantities, system, loaded=True)
    yield small(
        "Dead load: the roof that one post carries times the load over the plan area. No snow, "
        "wind or ponding: the engineer sets the reactions."
    )
    yield from _wind(quantities, system)
    yield from _snow(quantities, system)
    yield from drainage(quantities, system)
    yield heading("Members and spacing", 3)
    yield _members(retrofit, quantities, system)
    yield heading("Flags of the survey", 3)
    yield bullets(flags_of(result))
    yield heading("Questions of this survey", 3)
    yield bullets(quantities["questions"])
    yield figure(taken.plan)


def _loads(quantities: Reply, system: units.System) -> Iterator[Block]:
    mass, load = (units.unit(kind, system).display for kind in ("mass", "mass_per_area"))
    added, removed = quantities["loads"], quantities["removed"]
    rows: list[Sequence[Cell]] = [_load(one, 1) for one in added]
    rows.append(_total("All that is added", added, quantities["total_load"]))
    if removed:
        rows += [_load(one, -1) for one in removed]
        every = [*added, *({**one, "mass": -one["mass"]} for one in removed)]
        rows.append(_total("Added less taken off", every, quantities["net_load"]))
    yield table([("Component", 2.0, "left"), (f"Mass, {mass}", 1.0, "right"),
                 (f"Over the plan area, {load}", 1.0, "right")], rows)  # fmt: skip
    if not removed:
        yield small("Nothing is taken off by this survey: coverings, ballast and insulation stay.")


def _load(one: Reply, sign: int) -> Sequence[Cell]:
    name = one["component"] if sign > 0 else f"Taken off: {one['component'].lower()}"
    return name, fmt.shown(sign * one["mass"]), fmt.shown(sign * one["load"])


def _total(name: str, loads: Sequence[Reply], load: float) -> Sequence[Cell]:
    sums = (name, fmt.shown(sum(one["mass"] for one in loads)), fmt.shown(load))
    return [marked(words, "strong") for words in sums]


def _wind(quantities: Reply, system: units.System) -> Iterator[Block]:
    zones = quantities["wind_zones"]
    if not zones:
        return
    area, length, load = (units.unit(kind, system).display
                          for kind in ("area", "length", "mass_per_area"))  # fmt: skip
    yield heading("Zones of wind", 3)
    yield table(
        [("Zone", 1.6, "left"), (f"Width from the edge, {length}", 1.0, "right"),
         (f"Plan area, {area}", 1.0, "right"), ("Coefficient", 0.8, "right"),
         (f"Uplift, strength design, {load}", 1.1, "right"),
         (f"Uplift, allowable stress, {load}", 1.1, "right"),
         (f"Purlins at most, {length}", 1.0, "right")],
        ((one["zone"], fmt.shown(one["width"], "length") if one["width"] else "the rest",
          fmt.shown(one["plan_area"], "area"), fmt.shown(one["coefficient"]),
          fmt.shown(one["pressure"]), fmt.shown(one["allowable"]),
          fmt.shown(one["purlin_spacing"], "length")) for one in zones),
    )  # fmt: skip
    yield small("From the wind speed entered, as a question to the engineer: no design pressures.")


def _snow(quantities: Reply, system: units.System) -> Iterator[Block]:
    length, load = (units.unit(kind, system).display for kind in ("length", "mass_per_area"))
    if quantities["roof_snow"] is None and not quantities["drifts"]:
        return
    yield heading("Snow", 3)
    if quantities["roof_snow"] is not None:
        yield text(f"Flat roof snow load by the ground snow load entered: "
                   f"{fmt.shown(quantities['roof_snow'])} {load}.")  # fmt: skip
    if quantities["drifts"]:
        yield table(
            [("Where snow may drift: located, not sized", 2.4, "left"),
             (f"Length, {length}", 1.0, "right"),
             (f"Greatest height above the lower roof, {length}", 1.4, "right")],
            ((one["where"], fmt.shown(one["length"], "length"), fmt.shown(one["height"], "length"))
             for one in quantities["drifts"]),
        )  # fmt: skip


def drainage(quantities: Reply, system: units.System) -> Iterator[Block]:
    """Yield gutters and downspouts of every eave, where the rain of an hour is entered."""
    area, length, size = (units.unit(kind, system).display
                          for kind in ("area", "length", "thickness"))  # fmt: skip
    if quantities["drainage"]:
        yield heading("Gutters and downspouts", 3)
        yield table(
            [("Eave", 1.8, "left"), (f"Roof drained, {area}", 1.0, "right"),
             (f"Eave, {length}", 0.9, "right"), ("Downspouts", 0.9, "right"),
             (f"Downspout, {size}", 0.9, "right"), (f"Half-round gutter, {size}", 1.1, "right")],
            ((one["where"], fmt.shown(one["drained"], "area"), fmt.shown(one["eave"], "length"),
              str(one["downspouts"]), fmt.shown(one["downspout"], "thickness"),
              fmt.shown(one["gutter"], "thickness")) for one in quantities["drainage"]),
        )  # fmt: skip


def posts(quantities: Reply, system: units.System, *, loaded: bool = False) -> Block:
    """Return the posts of every line with their heights, and the dead load on each if wanted.

    Parameters
    ----------
    quantities : mapping
        The takeoff in the reply.
    system : "ip" or "si"
    loaded : bool
        Whether to give the roof carried and the dead load of one post, for the engineer.
    """
    length, mass, area = (units.unit(kind, system).display for kind in ("length", "mass", "area"))
    rows = quantities["posts"]
    columns: list[Column] = [
        ("Mark", 0.7, "left"), ("Part", 0.5, "right"), ("Falls to", 0.9, "left"),
        (f"From the eave, {length}", 1.0, "right"), (f"Shortest, {length}", 0.9, "right"),
        (f"Tallest, {length}", 0.9, "right"), ("Posts", 0.7, "right"),
    ]  # fmt: skip
    cells = [
        (row["mark"], str(row["rectangle"]), _falls(row), fmt.shown(row["from_eave"], "length"),
         fmt.shown(row["shortest"], "length"), fmt.shown(row["tallest"], "length"),
         f"{row['posts']:,}")
        for row in rows
    ]  # fmt: skip
    if not loaded:
        return table(columns, cells, dense=True)
    columns += [(f"Roof a post carries, {area}", 1.0, "right"),
                (f"Dead load on a post, {mass}", 1.0, "right")]  # fmt: skip
    carried = [(fmt.shown(row["carried"], "area"), fmt.shown(row["reaction"]))
               for row in rows]  # fmt: skip
    return table(
        columns, [(*row, *load) for row, load in zip(cells, carried, strict=True)], dense=True
    )


def _falls(row: Reply) -> str:
    other = f", {OPPOSITE[row['fall']]}" if row["rows"] == 2 else ""
    return f"{row['fall']}{other}"


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
