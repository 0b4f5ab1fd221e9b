"""The engineer's sheet: what a surveyed retrofit adds, where, and what is to be decided."""

from collections.abc import Callable, Iterable, Iterator, Sequence

from lcc import units
from lcc.case import Framing, MetalRetrofit, Rectangle, Roof
from lcc.case.fields import CasePart, facts_of
from lcc.case.rectangle import OPPOSITE, SIDES
from lcc.case.wind_and_snow import WindAndSnow
from lcc.caution_texts import STRUCTURE
from lcc.quantities.engineer_questions import NEVER
from lcc.quantities.trade_limits import DECKS
from lcc.quantities.wind_pressure import (
    DIRECTIONALITY,
    INSIDE,
    KILOGRAM_N,
    exposure_factor,
    velocity_pressure,
)
from web import format as fmt
from web.answer_tables import amount
from web.charts import Reply
from web.proposal.annex_flags import cautioned
from web.proposal.annex_quantities import drawn_in_layers, figure, flags_of, gutters, listed
from web.proposal.blocks import (
    Block,
    Cell,
    Column,
    beside,
    blanks,
    bullets,
    drawn,
    heading,
    marked,
    sheet,
    small,
    table,
    text,
    together,
)
from web.proposal.offer import Offer
from web.quantities_table import BY_PART, DRIFTS, ZONES, Takeoff

LEAD = (
    "Figures of a budget survey, for a licensed structural engineer to check and to replace. "
    "Nothing here is a design, and nothing here is an approval."
)
SUBJECTS = (STRUCTURE,)  # the cautions of this sheet
REACH = (
    "The table says where snow may drift. How deep a drift lies, and what it weighs, is not worked "
    "out here: the engineer does that. A drift reaches at most eight times the height of its wall "
    "or parapet (ASCE 7-16, 7.7.1, from memory)."
)
LOADED = (
    "P1.F3 names the posts of part 1, of its fall to the front, third line from the eave; with "
    "two sides in a mark its posts, and the roof that all carry, are those of both. Arithmetic, "
    "not reactions. Dead load: the most roof that one post of the line carries times the load "
    "added over its part, an average: lines under gable walls, ridge ventilators and curbs "
    "carry more. Snow, where it is entered: the same roof times the snow load under Snow, not "
    "reduced by slope, without drift, sliding or unbalanced snow; lines that a drift could "
    "reach are marked *. Uplift, where wind is entered: strength design, on the most pulled post "
    "of the line, the roof that it carries times the uplift of each zone that this roof lies in, "
    "no dead load taken off. Net uplift: 0.6 of that less 0.6 of the weight of panel and framing "
    "on the same roof (ASCE 7, 2.4.1, allowable stress design, from memory), on the post where it "
    "is most. GCp is that of 10 ft²: a post that carries more roof is pulled less by area, and a "
    "joist far less (ASCE 7, 30.3, from memory), so uplift here is high. No ponding. The engineer "
    "sets the reactions."
)
BORNE = (
    "Each joist, beam or bearing edge that a post stands on: what all its posts bring, and the "
    "same dead load over its length within the part. A post between two of them stands on a "
    "header, which hands its load to both. Snow: as in the table above. Net uplift: with GCp of "
    "10 ft² on all the roof of the joist, which is high: by the joist’s own area it is less. Edges "
    "are taken to bear. "
    "What lies on the deck between, insulation too, is counted with the posts; the old roof’s own "
    "weight is not."
)
CREDIT = (
    "What is taken off is a credit not to be relied on until it is weighed. Stone may hold down a "
    "loose-laid membrane: the engineer says what holds it once the stone is gone."
)
STAYS = "Nothing is taken off by this survey: coverings, ballast and insulation stay."
SEISMIC = (
    "What is taken off is not credited, and neither the old roof nor snow is in it. Base shear is "
    "a question below."
)
LIVE = (
    "Roof live load is in no figure here. In the code’s words: ordinary flat, pitched and curved "
    "roofs that are not occupiable, 20 lb/ft² (0.96 kN/m²), reduced by its own rule (IBC 2021, "
    "table 1607.1, from memory). To be confirmed, for the new roof and for bundles set down on the "
    "old one."
)
WALLED = (
    "Area of cladding between the old roof and the new panels. Pressure and suction on it, and "
    "what carries them, are left to the engineer."
)
ASKED = (
    "Zones begin and end so far from the edge inwards; one that ends at 0 takes the middle. W is "
    "strength design, 0.6 W allowable stress design, negative is up; GCp is for 10 ft². "
    "From the wind speed entered, as a question to the engineer: no design pressures. "
    "What they come to on the posts "
    "of each line stands with the posts above."
)
RECEIVED = (
    "Received for information only. The engineer’s own drawings govern; a name below does not "
    "adopt this sheet."
)
STEEL = (
    "post_spacing_m", "purlin_spacing_m", "purlin_depth_m", "bracing", "brace_spacing_m",
    "panel_metal", "panel_thickness_m", "panel_cover_m",
    "post_section_m2", "purlin_section_m2", "brace_section_m2", "post_base_kg",
)  # fmt: skip
ORDERED = (
    "fasteners_per_clip", "fasteners_per_post", "fasteners_per_fixed_end", "ventilator_throat_m2",
)  # fmt: skip
# What the tool cannot answer; each is a line to write on.
QUESTIONS = (
    "Basic wind speed, exposure, risk category, edition of the standard",
    "Uplift in field, edge and corner; clip and purlin spacing there",
    "Ground snow load, and the least load of low slopes",
    "Drift at steps, parapets and units; unbalanced and sliding snow, snow in valleys",
    "Roof live load: least, reduced or not, and with snow",
    "Base shear with the weight added: site class, design category; diaphragm and anchors",
    "Wind on new end and step walls: pressure, girts and what carries them",
    "Load added against the old design load, and 5% of the gravity load of each member "
    "(International Existing Building Code, from memory); what carries the joist lines; weight of "
    "what lies there now",
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
        [text(LEAD), *(block for each in offer.surveyed for block in _blocks(offer, *each)),
         *cautioned(offer, SUBJECTS), drawn(), *drawn_in_layers(offer),
         heading("To be decided by the engineer"), blanks(QUESTIONS),
         together([small(RECEIVED), beside([blanks(("Name, license",))], [blanks(("Date",))])])],
    )  # fmt: skip


def _blocks(
    offer: Offer, taken: Takeoff, retrofit: MetalRetrofit, result: Reply
) -> Iterator[Block]:
    system = offer.reply["units"]
    quantities = result["quantities"]
    yield heading(taken.name)
    yield heading("Load added, and load taken off", 3)
    yield from _loads(taken, quantities, system)
    yield heading("Posts by line", 3)
    yield posts(quantities, system)
    yield text(on_all_posts(quantities, system))
    yield small(LOADED)
    yield from _bearing(quantities, system)
    yield from _sideways(quantities, system)
    assert retrofit.framing is not None
    yield from _wind(taken, quantities, retrofit.framing.wind_and_snow, system)
    yield from _snow(taken, quantities, system)
    yield from gutters(taken, retrofit.framing, system)
    yield heading("Members, and what they stand on", 3)
    yield _members(retrofit.framing, quantities, system)
    yield heading("Spacing, steel, wind, snow and deck as taken here", 3)
    yield _entered(retrofit.framing, offer.case.roof, system)
    yield from (figure(svg, floats=True) for svg in taken.sections)
    yield figure(taken.plan, plan=True, floats=True)
    yield heading("Flags of the survey", 3)
    yield bullets(flags_of(result, system))
    yield heading("Questions of this survey", 3)
    yield bullets(one for one in quantities["questions"] if one != NEVER)  # `LEAD` says it


def _loads(taken: Takeoff, quantities: Reply, system: units.System) -> Iterator[Block]:
    mass, load = (units.unit(kind, system).display for kind in ("mass", "mass_per_area"))
    added, removed = quantities["loads"], quantities["removed"]
    rows: list[Sequence[Cell]] = [_load(one, 1) for one in added]
    total = sum(one["mass"] for one in added), quantities["total_load"]
    rows.append([marked(words, "strong")
                 for words in ("All that is added", *map(fmt.shown, total))])  # fmt: skip
    figures: list[Column] = [
        (f"Mass, {mass}", 1.0, "right"), (f"Over the whole plan area, {load}", 1.0, "right")
    ]  # fmt: skip
    yield table([("Component", 2.0, "left"), *figures], rows)
    if removed:
        name: Column = ("Taken off, not credited above", 2.0, "left")
        yield table([name, *figures], [_load(one, -1) for one in removed])
    if removed or len(quantities["part_loads"]) > 1:
        yield from listed(taken, BY_PART)
    yield small(CREDIT if removed else STAYS)


def _sideways(quantities: Reply, system: units.System) -> Iterator[Block]:
    """Yield the weight that an earthquake moves and the walls that wind meets, as questions."""
    yield heading("Earthquake, live load, and wind on new walls", 3)
    added = {"mass": sum(one["mass"] for one in quantities["loads"]),
             "mass_per_area": quantities["total_load"],
             "area": quantities["surface"]["plan_area"]}  # fmt: skip
    mass, load, area = (amount({"value": one, "kind": kind}, system) for kind, one in added.items())
    yield text(f"Weight added that an earthquake moves: {mass}, {load} over {area} of plan area. "
               f"{SEISMIC}")  # fmt: skip
    yield text(LIVE)
    walls = {side: sum(one["walls"] for one in quantities["trims"]
                         if side in one["where"].split(", "))
             for side in SIDES}  # fmt: skip
    if any(walls.values()):
        yield table(
            [("New end and step walls, as seen from", 2.0, "left"),
             (f"Area, {units.unit('area', system).display}", 1.0, "right")],
            ((side, fmt.shown(value, "area")) for side, value in walls.items() if value),
        )  # fmt: skip
        yield small(WALLED)


def _load(one: Reply, sign: int) -> Sequence[Cell]:
    return one["component"], fmt.shown(sign * one["mass"]), fmt.shown(sign * one["load"])


def _bearing(quantities: Reply, system: units.System) -> Iterator[Block]:
    """Yield what posts bring onto each joist, beam or edge, where these are surveyed."""
    rows, snow = quantities["bearing_loads"], quantities["roof_snow"]
    if not rows:
        return
    area, mass, line = (units.unit(kind, system).display
                        for kind in ("area", "mass", "mass_per_length"))  # fmt: skip
    cut, windy = fmt.CUT_UNIT[system], rows[0]["net_uplift"] is not None
    yield heading("Load by joist, beam and bearing edge", 3)
    yield table(
        [("Part, what", 1.5, "left"), (f"First, or both of two, from the edge, {cut}", 1.7, "left"),
         (f"Every, {cut}", 0.7, "right"), ("Alike", 0.5, "right"), ("Posts on one", 0.6, "right"),
         (f"Roof carried by one, {area}", 0.9, "right"),
         (f"Dead load on one, {mass}", 0.9, "right"), (f"Dead load, {line}", 0.7, "right"),
         *[(f"Snow on one, without drift, {mass}", 0.8, "right")] * (snow is not None),
         *[(f"Net uplift, 0.6 W less 0.6 D, {mass}", 1.0, "right")] * windy],
        ((f"{one['rectangle']}, {one['what']}",
          *_stands(one, system), str(one["lines"]),
          str(one["posts"]), fmt.shown(one["carried"], "area"), fmt.shown(one["dead"]),
          fmt.shown(one["line_load"]),
          *[fmt.shown((snow or 0.0) * one["carried"])] * (snow is not None),
          *[fmt.shown(one["net_uplift"])] * windy) for one in rows),
        dense=True,
    )  # fmt: skip
    yield small(BORNE)


def _stands(row: Reply, system: units.System) -> tuple[str, str]:
    """Return where joists that are alike stand: the first and the space, or both of two.

    Examples
    --------
    >>> pair = {"first": 5.0, "spacing": 70.0, "lines": 2, "edge": "left"}
    >>> print(_stands(pair, "ip")[0])
    5'-0" and 75'-0" left
    >>> print(*_stands({**pair, "spacing": 5.0, "lines": 9}, "ip"))
    5'-0" left 5'-0"
    """
    first, space = (fmt.cut_length(row[name], system) for name in ("first", "spacing"))
    if row["lines"] == 2:
        last = fmt.cut_length(row["first"] + row["spacing"], system)
        return f"{first} and {last} {row['edge']}", ""
    return f"{first} {row['edge']}", space if row["spacing"] else ""


def _wind(
    taken: Takeoff, quantities: Reply, site: WindAndSnow, system: units.System
) -> Iterator[Block]:
    zones = quantities["wind_zones"]
    if zones:
        yield from listed(taken, ZONES)
        yield text(" ".join(retraced(site, zones, system)))
        yield small(ASKED)


def retraced(site: WindAndSnow, zones: Sequence[Reply], system: units.System) -> Iterator[str]:
    """Yield how the uplift of a zone is found, with the factors of each mean roof height."""
    length, load = (units.unit(kind, system) for kind in ("length", "mass_per_area"))
    yield (f"Uplift of strength design is qh (GCp - GCpi): GCp is the coefficient, GCpi {INSIDE:g} "
           f"of an enclosed building, qh by exposure {site.exposure}, Kd {DIRECTIONALITY:g}, flat "
           "ground.")  # fmt: skip
    for shown, parts in dict.fromkeys((one["roof_height"], one["parts"]) for one in zones):
        high = units.to_core(shown, "length", system)
        q = units.from_core(velocity_pressure(site, high) / KILOGRAM_N, "mass_per_area", system)
        yield (f"Part{'s' * (',' in parts)} {parts}, {fmt.shown(shown, 'length')} "
               f"{length.display} high: Kz {exposure_factor(site, high):.3f}, "
               f"qh {q:.2f} {load.display}.")  # fmt: skip


def _snow(taken: Takeoff, quantities: Reply, system: units.System) -> Iterator[Block]:
    if (snow := quantities["roof_snow"]) is not None:
        load = amount({"value": snow, "kind": "mass_per_area"}, system)
        yield heading("Snow", 3)
        yield text(f"Snow load of the roof by the ground snow load entered: {load}. Its factors "
                   "stand with the questions.")  # fmt: skip
    if quantities["drifts"]:
        yield from listed(taken, DRIFTS)
        yield small(REACH)


def posts(quantities: Reply, system: units.System) -> Block:
    """Return the posts of every line with their heights, and what each carries, if entered."""
    cut, rows = fmt.CUT_UNIT[system], by_distance(quantities["posts"])
    mass, area = (units.unit(kind, system).display for kind in ("mass", "area"))
    snow, windy = quantities["roof_snow"], any(row["uplift"] is not None for row in rows)
    columns: list[Column] = [
        ("Mark", 1.1, "left"), (f"From the eave, {cut}", 0.9, "right"),
        (f"Shortest, {cut}", 1.1, "right"), (f"Tallest, {cut}", 1.1, "right"),
        ("Posts", 0.6, "right"), (f"Roof all carry, {area}", 0.9, "right"),
        (f"Roof one carries, at most, {area}", 0.9, "right"),
        (f"Dead load on one, at most, {mass}", 0.9, "right"),
        *[(f"Snow on one, at most, {mass}", 0.9, "right")] * (snow is not None),
        *[(f"Net uplift on one, 0.6 W less 0.6 D, {mass}", 1.0, "right"),
          (f"Uplift on one, at most, {mass}", 0.9, "right")] * windy,
    ]  # fmt: skip
    cells: list[Sequence[Cell]] = [
        (row["mark"],
         *(fmt.cut_length(row[name], system) for name in ("from_eave", "shortest", "tallest")),
         f"{row['posts']:,}",
         *(fmt.shown(row[name], "area") for name in ("together", "carried")),
         fmt.shown(row["reaction"]),
         *[f"{fmt.shown((snow or 0.0) * row['carried'])}{' *' * row['may_drift']}"]
         * (snow is not None),
         *[fmt.shown(row[name]) for name in ("net_uplift", "uplift") if windy])
        for row in rows
    ]  # fmt: skip
    together = fmt.shown(sum(row["together"] for row in rows), "area")
    total = ["All lines", "", "", "", f"{sum(row['posts'] for row in rows):,}", together]
    total += [""] * (len(columns) - len(total))
    return table(columns, [*cells, [marked(words, "strong") for words in total]], dense=True)


def on_all_posts(quantities: Reply, system: units.System) -> str:
    """Say what dead load and snow come to on all posts, so that they can be added up."""
    carried, snow = sum(row["together"] for row in quantities["posts"]), quantities["roof_snow"]
    dead, white = (amount({"value": load * carried, "kind": "mass"}, system)
                   for load in (quantities["total_load"], snow or 0.0))  # fmt: skip
    told = f"All posts together carry {dead} of dead load, all that is added"
    return f"{told}{'' if snow is None else f', and {white} of snow'}."


def by_distance(posts: Sequence[Reply]) -> list[Reply]:
    """Return lines of posts by part and fall, the front first, from the eave up."""
    return sorted(
        posts, key=lambda row: (row["rectangle"], SIDES.index(row["fall"]), row["from_eave"])
    )


def _members(framing: Framing, quantities: Reply, system: units.System) -> Block:
    """Return what is laid out of each member, and where posts of each part may stand."""
    members, services = quantities["members"], quantities["services"]

    def length(value: float, kind: str = "length") -> str:
        return amount({"value": units.from_core(value, kind, system), "kind": kind}, system)

    rows = [
        ("Lines", f"purlins {members['purlin_lines']}, bracing {members['bracing_lines']}"),
        ("Clips and fasteners", f"{members['clips']:,} clips, {members['fasteners']:,} fasteners"),
        ("Openings", f"curbs {services['curbs']}, pipes and conduits {services['penetrations']}, "
         f"skylights {services['skylights_carried']}, "
         f"ventilators {quantities['cavity']['ventilators']}"),
        *((f"Part {number}", _part(one, length) + (f"; loose stone {length(load, 'mass_per_area')}"
                                                   if framing.states_stone else ""))
          for number, (one, load) in enumerate(zip(framing.rectangles, framing.stone_kg_m2,
                                                   strict=True), start=1)),
    ]  # fmt: skip
    return table([("What", 1.2, "left"), ("As surveyed", 2.4, "left")], rows)


def _part(one: Rectangle, length: Callable[[float], str]) -> str:
    """Return what posts of a part stand on, and its parapets."""
    joists = "joists or beams not entered"
    if one.bearing_spacing_m is not None:
        joists = (f"joists or beams run {one.bearing_runs}, every {length(one.bearing_spacing_m)}, "
                  f"the first {length(one.bearing_first_m)} from the edge")  # fmt: skip
    high = {side: float(getattr(one, f"parapet_{side}_m")) for side in OPPOSITE}
    parapets = ", ".join(f"{side} {length(one)}" for side, one in high.items() if one)
    return f"{joists}; parapets: {parapets or 'none entered'}"


def _entered(framing: Framing, roof: Roof, system: units.System) -> Block:
    """Return spacing, steel that was weighed and site, each with where the figure comes from."""
    site = ("exposure", "risk_category", "ground_snow_kg_m2")
    return _taken([
        *(_stated(framing, name, system) for name in STEEL),
        _stated(framing.wind_and_snow, "basic_wind_m_s", system),
        *_mean_heights(framing, system),
        *(_stated(framing.wind_and_snow, name, system) for name in site),
        _old_deck(framing, roof, system),
    ])  # fmt: skip


def steel(framing: Framing, system: units.System) -> Block:
    """Return the sizes that a crew orders by, each with where it comes from."""
    return _taken(_stated(framing, name, system) for name in (*STEEL, *ORDERED))


def _taken(rows: Iterable[Sequence[Cell]]) -> Block:
    return table([("What", 1.2, "left"), ("Taken as", 0.8, "left"), ("From", 1.6, "left")], rows)


def _mean_heights(framing: Framing, system: units.System) -> Iterator[Sequence[Cell]]:
    """Yield the mean roof heights by which wind is taken; a part's own stands before the survey's.

    That of the survey stands only for parts that have none of their own.
    """
    own = [(f"Mean roof height of part {number}", *_stated(one, "roof_height_m", system)[1:])
           for number, one in enumerate(framing.rectangles, start=1)
           if one.roof_height_m is not None]  # fmt: skip
    if len(own) < len(framing.rectangles):
        label, *taken = _stated(framing.wind_and_snow, "roof_height_m", system)
        yield (f"{label}{', of every other part' if own else ''}", *taken)
    yield from own


def _old_deck(framing: Framing, roof: Roof, system: units.System) -> Sequence[Cell]:
    """Return the deck that the survey found; where it says nothing, that of the roof's layers."""
    found = [DECKS[layer.material] for layer in roof.layers if layer.material in DECKS]
    label, kind, source = _stated(framing.other_work, "deck_kind", system)
    if framing.other_work.deck_kind != "not-known" or not found:
        return label, kind, source
    origin = roof.origin("layers")
    return label, found[-1].replace("-", " "), (
        f"{origin.basis}: the layers of the roof today; the survey does not name it"
    )  # fmt: skip


def _stated(part: CasePart, name: str, system: units.System) -> Sequence[Cell]:
    """Return a field's label, its value, and whether it was entered or is a default."""
    facts, value = facts_of(type(part))[name], getattr(part, name)
    if value is None:
        return facts.label, "not entered", facts.when_unset
    shown = {True: "yes", False: "no"}.get(value, str(value).replace("-", " "))
    if facts.type == "quantity":
        in_unit = units.from_core(value, facts.kind, system)
        shown = amount({"value": in_unit, "kind": facts.kind}, system)
    origin = part.origin(name)
    return facts.label, shown, f"{origin.basis}: {origin.source}"
