"""What the take-off asks the engineer: snow, drift, reactions and wind, with its numbers."""

import math
from collections.abc import Iterator

from lcc.quantities.bracing import rises
from lcc.quantities.drainage import eaves_above, valley_discharges
from lcc.quantities.roof_frame import RoofFrame
from lcc.quantities.roof_planes import RoofPart
from lcc.quantities.snow_and_drift import LOW_WALL, lowest_drift_wall_m, snow_questions
from lcc.quantities.wind_pressure import LOW_SLOPE, single_fall_figure
from lcc.results.takeoff_result import DriftPlace, WindZone
from lcc.units.typed_quantities import both, both_areas

_APART_M = 0.3  # chosen: levels closer than this are one height
_FLAT = math.tan(math.radians(15))  # chosen: a diagonal flatter than that braces little
_STONE = (
    "Stone: does it hold down a loose-laid membrane, and what holds that membrane against wind "
    "once the stone is off? "
)
_WEIGHED = "Its weight is no credit until it is weighed."
STONE_APART = f"{_STONE}It is taken off the parts that the survey names alone. {_WEIGHED}"
STONE = (f"{_STONE}It is taken over the whole roof: which parts have stone, and how much? "
         f"{_WEIGHED}")  # fmt: skip
SEAT = (
    "Cross members: do they lie on the posts, below the purlins, or hang between the purlins, and "
    "how deep are they? The survey does not say. Posts are listed from the old roof to the "
    "underside of the purlin: where a member lies on a post, that post is shorter by its depth; "
    "hung flush, none changes. Cut no post beside one before this is answered."
)
NEVER = "These are questions for a licensed structural engineer; nothing here is approved."


def questions(
    roof: RoofFrame, zones: tuple[WindZone, ...], drifting: tuple[DriftPlace, ...]
) -> Iterator[str]:
    """Yield the questions that go to the engineer's sheet."""
    work = roof.framing.other_work
    yield from _wind(roof, zones)
    yield from snow_questions(roof)
    yield from _drift(roof, drifting)
    for each in eaves_above(roof):
        part, other = each.frame.part.name, roof.parts[each.other].name
        yield (f"Sliding snow: {part} sheds its fall to the {each.frame.fall.side}, "
               f"{both(each.frame.run_m)} long in plan, along {both(each.length_m)} of eave onto "
               f"{other}; what does it bring there (ASCE 7, 7.9, from memory)?")  # fmt: skip
    if any(part.rectangle.bearing_spacing_m is None for part in roof.parts):
        yield "Structure: posts of parts without bearing lines are not tied to joists or beams."
    if any(part.rectangle.bearing_spacing_m is not None for part in roof.parts):
        yield "Structure: do the edges of each part bear, as walls or edge beams?"
    if any(fall.cross_members_m for fall in roof.falls):
        yield SEAT
    if any(part.rectangle.bearing_spacing_m for part in roof.parts):
        yield ("Purlins: the lines of a fall are spliced over the same joists. Butted pieces of "
               "three spans bring about 0.8 of the loads listed to those joists, and 1.1 to the "
               "ones beside (equal spans, by statics). Do you stagger the splices?")  # fmt: skip
    yield from _bracing(roof)
    yield from _valleys(roof)
    yield ("Posts: the dead load of a post is its roof times the mean of its part. Posts "
           "under walls that close the cavity, ventilators and curbs carry more, others less; what "
           "does each line carry?")  # fmt: skip
    units, skylights = roof.framing.rooftop_units, work.skylights_carried
    if units or skylights:
        yield (f"Weights: rooftop units {units}, skylights carried through {skylights}. What does "
               "each weigh, and where does it stand? Neither is surveyed; new curbs alone are in "
               "the added load.")  # fmt: skip
    if roof.framing.stone[1]:
        yield STONE_APART if roof.framing.stone_by_part else STONE
    yield NEVER


def _drift(roof: RoofFrame, places: tuple[DriftPlace, ...]) -> Iterator[str]:
    low = sum(each.by_rule == LOW_WALL for each in places)
    if len(places) > low:
        yield ("Drift: it may lie beside walls or parapets, located and not sized here; places: "
               f"{len(places) - low}.")  # fmt: skip
    if low and (limit := lowest_drift_wall_m(roof.framing.wind_and_snow)):
        yield (f"Drift: of the walls and parapets listed, {low} stand less than {both(limit)} "
               "above the panel beside them, too low to count by ASCE 7, 7.7.1 (from memory); do "
               "you agree?")  # fmt: skip


def _bracing(roof: RoofFrame) -> Iterator[str]:
    flat = [slope for fall in roof.falls for slope in rises(fall.frame) if slope < _FLAT]
    if flat:
        least = math.degrees(math.atan(min(flat)))
        yield (f"Bracing: {len(flat)} diagonals along purlins, of low posts, rise at less than "
               f"15°, the flattest at {least:.0f}°, and may lie in the insulation. They are "
               "counted and priced; do they brace, or what does there?")  # fmt: skip
    if length := math.fsum(fall.frame.bracing_m for fall in roof.falls):
        yield (f"Bracing: at every bracing line one diagonal runs up the slope from each line of "
               "the field to the next, past the posts of closer lines between, and one along the "
               f"purlin to the post beside it, {both(length)} in all; "
               "is that enough, and what takes its force into the building?")  # fmt: skip


def _valleys(roof: RoofFrame) -> Iterator[str]:
    if (valley := roof.edges.length("valley")) > 0:
        yield (f"Valleys: the supports marked W under {both(valley)} of valley are counted and "
               "weighed as one line of purlin; what member is it, and where do its posts stand?"
               )  # fmt: skip
    for each in valley_discharges(roof):
        into = f"into the gutter of {each.into}" if each.into else "at no eave"
        yield (f"Valley between {each.between}: {both_areas(each.drained_m2)} of roof gathers in "
               f"it and leaves at one point, {into}; can it be taken there, in a cloudburst and "
               "with ice?")  # fmt: skip


def _wind(roof: RoofFrame, zones: tuple[WindZone, ...]) -> Iterator[str]:
    site = roof.framing.wind_and_snow
    if not zones:
        yield ("Wind: basic wind speed and mean roof height are not entered; purlins are not "
               "closed up at edges and corners, where wind pulls most.")  # fmt: skip
        return
    yield (f"Wind: are the zones, coefficients and exposure {site.exposure} right for this "
           f"building, and is ASCE {site.edition} the edition in force? Zones and coefficients "
           "are read in copies of its figures, not in the standard.")  # fmt: skip
    yield from _heights(roof)
    if roof.edges.length("valley") > 0:
        yield ("Wind: edge zones follow the roof's outer edges. A valley, and the inner "
               "corner where two wings meet, are no edge zone; is that right?")  # fmt: skip
    if site.panel_uplift_kg_m2 is None:
        yield ("Wind: purlins at edges, ridges and corners are closed up by a ratio; what does "
               "the panel's test say?")  # fmt: skip
    steep = [part for part in roof.parts if part.slope > LOW_SLOPE]
    if steep and roof.zones:
        reach = max(roof.zones.widths_m(part)[0] for part in steep)
        yield (f"Wind: over 7° a strip of {both(reach)} pulls harder along rakes, ridges and hips, "
               "on both sides of a ridge; purlins are closed up there. Is that wide enough at "
               "this roof's steps and valleys, for which the figures say nothing?")  # fmt: skip
    for part in roof.parts:
        own = single_fall_figure(part.slope)
        if part.rectangle.form == "one-way" and own and roof.zones:
            figure = roof.zones.rule(part).figure.partition(",")[0]
            ridge = ", its high edge as a ridge" if part.slope > LOW_SLOPE else ""
            yield (f"Wind: {part.name} is a single fall over 3°, which has a figure of its own, "
                   f"{own}. It is laid out here by {figure}{ridge}; what are its zones?"
                   )  # fmt: skip


def _heights(roof: RoofFrame) -> Iterator[str]:
    """Yield parts of different level that share one mean roof height, and stepped roofs."""
    by_height: dict[float | None, list[RoofPart]] = {}
    for part in roof.parts:
        by_height.setdefault(part.roof_height_m, []).append(part)
    for height, parts in by_height.items():
        levels = [part.rectangle.roof_level_m for part in parts]
        if (apart := max(levels) - min(levels)) > _APART_M and height is not None:
            highest = parts[levels.index(max(levels))].name
            yield (f"Wind: one mean roof height, {both(height)}, serves parts whose old roofs lie "
                   f"up to {both(apart)} apart, {highest} the highest; is it that part's height, "
                   "or what is the height of each?")  # fmt: skip
    if any(role in ("step", "wall-gutter") for role in roof.edges.role.tolist()):
        yield ("Wind: what pulls on a lower roof beside the wall of a higher one? No edge "
               "zone is counted along that wall.")  # fmt: skip
