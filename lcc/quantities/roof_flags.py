"""What the plan asks for that simple framing does not give, named with its part and edge."""

import math
from collections import Counter
from collections.abc import Iterator

import numpy as np

from lcc.case.fields import Basis
from lcc.case.rectangle import OPPOSITE
from lcc.quantities.cut_list import line_mark, mark_range
from lcc.quantities.drainage import (
    BEHIND,
    drainage,
    eaves_above,
    gutter_name,
    gutters,
    low_eaves,
    scuppers,
)
from lcc.quantities.long_spans import is_long
from lcc.quantities.polygons import TOUCH_M
from lcc.quantities.post_and_purlin_spacing import spaces
from lcc.quantities.post_lines_and_heights import FallFrame
from lcc.quantities.purlin_pieces import off_posts
from lcc.quantities.roof_edges import side_of
from lcc.quantities.roof_frame import RoofFrame
from lcc.quantities.roof_planes import (
    Meeting,
    RoofPart,
    crest_over_eave_m,
    eaves_apart_m,
    is_wing,
    runs_on,
)
from lcc.quantities.wing_posts import WingPosts
from lcc.results.takeoff_result import Drainage, SurveyFlag
from lcc.units import FOOT_M, INCH_M
from lcc.units.typed_quantities import both, both_areas

_TRADE: Basis = "common practice"
_NARROW_M = 0.6  # a gap that is more likely a slip of the plan than two buildings
_TALL_PARAPET_M = 3.048
_SIDEWAYS_M = 0.3
_NEAR_EAVES_M = 0.6  # eaves closer than that are more likely meant to be one
_FLASHED_M = 8 * INCH_M  # up a wall
_INNER = "inner gutters are avoided where the plan allows"
_PRICED = ("It needs an inner gutter with an overflow. The gutter is priced, by its length, in the "
           "line of valleys and inner gutters; its outlets and overflows are not.")  # fmt: skip


def plan_flags(roof: RoofFrame) -> tuple[SurveyFlag, ...]:
    """Return a flag for every edge, touch and span that needs a decision, each once."""
    found = (
        *_gutters(roof),
        *_onto_neighbours(roof),
        *_steps(roof),
        *_low_eaves(roof),
        *_points(roof),
        *_apart(roof.parts),
        *_drains(roof),
        *_spans(roof),
        *_twice_divided(roof),
        *_edge_walls(roof),
        *_eaves(roof),
        *_wings(roof),
        *_parapets(roof),
        *_heights(roof),
    )
    return tuple(dict.fromkeys(found))


def _flag(message: str, source: str, basis: Basis = _TRADE) -> SurveyFlag:
    return SurveyFlag("rectangles", message, basis, source)


def _gutters(roof: RoofFrame) -> Iterator[SurveyFlag]:
    through, drains = scuppers(roof), {each.where: each for each in drainage(roof)}
    for each in (one for one in gutters(roof) if one.lies):
        first, *others = [roof.falls[fall].frame for fall in each.falls]
        part, side = first.part, first.fall.side
        name = gutter_name(roof, each)
        asked = _asked(drains.get(name))
        if others:
            yield _flag(f"An eave drains onto or against another part: {part.name} and "
                        f"{others[0].part.name} drain to the same line. {_PRICED}{asked}",
                        _INNER)  # fmt: skip
        elif each.lies == BEHIND:
            yield _flag(f"The eave of {part.name} at the {side} lies behind a parapet: it needs an "
                        "inner gutter, with scuppers and as many overflow scuppers: "
                        f"{through[name]} of each are priced. Or it needs higher posts.",
                        _INNER)  # fmt: skip
        else:
            yield _flag(f"{part.name.capitalize()} drains at its {side} "
                        f"{each.lies.replace('against ', 'against the wall of ')}, which stands "
                        f"higher. {_PRICED}{asked} Or give it another fall.", _INNER)  # fmt: skip


def _asked(drain: Drainage | None) -> str:
    """Say what an inner gutter asks for where rain is entered."""
    if drain is None:
        return ""
    return (f" By the rain entered it drains {both_areas(drain.drained_m2)} of roof and asks for "
            f"{drain.outlets} outlet{'s' * (drain.outlets > 1)} of "
            f"{drain.downspout_m / INCH_M:.0f} in, each with an overflow: say where its pipe "
            "goes down; none is drawn here."
            )  # fmt: skip


def _onto_neighbours(roof: RoofFrame) -> Iterator[SurveyFlag]:
    """Yield eaves above a lower roof, where their downspouts stand, and what water goes on."""
    for each in eaves_above(roof):
        frame, places, stand = each.frame, each.downspouts_m, ""
        one, other = frame.part.name, roof.parts[each.other].name
        if places is not None:
            at = ", ".join(both(place) for place in places)
            stand = (
                f"Downspouts over that roof, from the {frame.end_sides[0]} of {one}: {at}. "
                if places
                else "Those at the ends of the eave go down beside that roof. "
            )
        if each.free_m and places:
            stand += (f"{both(each.free_m)} of that eave stand over no other roof: a downspout "
                      "there reaches the ground. ")  # fmt: skip
        yield _flag(f"{one.capitalize()} drains at its {frame.fall.side} onto the lower roof of "
                    f"{other}: carry the downspouts to the ground, or guard that roof. {stand}Let "
                    f"fall there, the water of {both_areas(each.drained_m2)} of roof runs on to "
                    f"the gutters of {other}, which are not sized for it.",
                    "water of an upper roof is not let fall on a lower one")  # fmt: skip


def _steps(roof: RoofFrame) -> Iterator[SurveyFlag]:
    """Yield eaves too low above another roof for their gutter and for the flashing below it."""
    for each in eaves_above(roof):
        if (lacks := _FLASHED_M + each.taken_m - each.step_m) > TOUCH_M:
            one, other = each.frame.part.name, roof.parts[each.other].name
            yield _flag(f"The eave of {one} at the {each.frame.fall.side} stands only "
                        f"{both(each.step_m, 1)} above the panel of {other}: its gutter with its "
                        f"fall, or its purlin, takes {both(each.taken_m, 1)}, and the flashing of "
                        f"{other} stands 8 in up the wall. Frame {other} {both(lacks, 1)} lower or "
                        f"{one} as much higher, or run one roof over both. Until then no gutter, "
                        "flashing or ventilator fits there as priced.",
                        "a flashing stands 8 in up a wall, below the gutter above it")  # fmt: skip


def _low_eaves(roof: RoofFrame) -> Iterator[SurveyFlag]:
    """Yield eaves above a parapet over which no purlin or outside gutter with its fall fits."""
    for each in low_eaves(roof):
        part, side = each.frame.part, each.frame.fall.side
        post = part.lowest_post_m + part.raised_m + each.taken_m - each.room_m
        tall = math.ceil(post / FOOT_M * 10 - 1e-6) / 10 * FOOT_M
        yield _flag(f"The eave of {part.name} at the {side} stands only {both(each.room_m)} "
                    "above the coping of its parapet; purlin, or gutter with its fall, takes "
                    f"{both(each.taken_m)}. A gutter outside is priced along "
                    f"{both(each.length_m)}. It needs a lowest post of {both(tall)}, or a lower "
                    f"panel behind the parapet with an inner gutter, {each.scuppers} scuppers and "
                    "as many overflow scuppers, which are not priced.",
                    "a gutter outside a parapet hangs clear of its coping")  # fmt: skip


def _points(roof: RoofFrame) -> Iterator[SurveyFlag]:
    """Yield parts that touch at a corner alone, with no other part to close it."""
    for one in roof.parts:
        for other in roof.parts[one.index + 1 :]:
            point = _corner(one, other)
            if point is None or any(
                third.rectangle.holds(*point) for third in roof.parts if third not in (one, other)
            ):
                continue
            yield _flag(f"{one.name.capitalize()} and {other.name} touch at a corner alone: their "
                        "frames are set out apart, and the corner is to be flashed by hand.",
                        "two roofs that meet at a point have no edge in common")  # fmt: skip


def _corner(one: RoofPart, other: RoofPart) -> tuple[float, float] | None:
    """Return the only point that two rectangles share, if there is one."""
    a, b = one.bounds, other.bounds
    low = max(a[0], b[0]), max(a[1], b[1])
    high = min(a[2], b[2]), min(a[3], b[3])
    alike = abs(high[0] - low[0]) <= TOUCH_M and abs(high[1] - low[1]) <= TOUCH_M
    return low if alike else None


def _apart(parts: tuple[RoofPart, ...]) -> Iterator[SurveyFlag]:
    """Yield the gap to every part, or group of parts, that touches no other, and narrow gaps."""
    gaps = {(one.index, other.index): _gap_m(one, other)
            for one in parts for other in parts[one.index + 1 :]}  # fmt: skip
    group = list(range(len(parts)))
    for (one, other), gap in gaps.items():
        if gap <= TOUCH_M:
            group = [group[one] if each == group[other] else each for each in group]
    named = {pair for pair, gap in gaps.items() if TOUCH_M < gap < _NARROW_M}
    for each in sorted(set(group) - {group[0]}):
        out = [pair for pair in gaps if (group[pair[0]] == each) != (group[pair[1]] == each)]
        named.add(min(out, key=gaps.__getitem__))
    for one, other in sorted(named):
        words = f"{parts[one].name.capitalize()} and {parts[other].name} do not touch"
        yield _flag(f"{words}: the gap is {both(gaps[one, other])}. They are framed as two roofs, "
                    "each with its own edges; if they are one roof, correct the plan.",
                    "parts of one roof share an edge")  # fmt: skip


def _gap_m(one: RoofPart, other: RoofPart) -> float:
    a, b = one.bounds, other.bounds
    across, along = (max(a[k] - b[k + 2], b[k] - a[k + 2], 0.0) for k in (0, 1))
    return math.hypot(across, along)


def _drains(roof: RoofFrame) -> Iterator[SurveyFlag]:
    """Yield parts whose new roof falls away from the drains of the old deck."""
    for part in roof.parts:
        one = part.rectangle
        away = one.form == "one-way" and one.deck_drains_to == OPPOSITE[one.drains_to]
        if one.deck_slope > 0 and away:
            yield _flag(f"The new roof of {part.name} falls to the {one.drains_to}, away from the "
                        f"drains at the {one.deck_drains_to}: posts are tall and the storm line "
                        f"is at the other side. Let it drain to the {one.deck_drains_to}, or "
                        f"count new downspouts at the {one.drains_to} tied into the storm drain.",
                        "a new fall follows the old one where it can")  # fmt: skip
        if one.deck_slope > part.slope and one.deck_drains_to in (None, one.drains_to):
            yield _flag(
                f"The old deck of {part.name} falls more than its new roof: its lowest "
                "posts stand at the high end.",
                "figures as entered",
                "entered",
            )
        yield from _sideways(part)
    yield from _placed(roof)


def _placed(roof: RoofFrame) -> Iterator[SurveyFlag]:
    """Yield drains in a deck without a fall entered, and drains not counted as closed."""
    placed, closed = roof.framing.drains, roof.framing.other_work.drains_abandoned
    for part in roof.parts:
        if part.drains and part.rectangle.deck_slope == 0:
            yield _flag(f"Drains are placed in {part.name} and its old deck has no fall: its posts "
                        "are cut to a level deck. Enter the fall of the deck.",
                        "a deck falls to its drains")  # fmt: skip
        elif part.drains and part.rectangle.bearing_spacing_m:
            yield _flag(f"The old deck of {part.name} is taken to fall to its drains from every "
                        "side, which straight joists alone do not give: it is tapered board, or a "
                        "valley line from drain to drain. Its post lengths stand on this. Take "
                        "levels, and enter the deck as it falls.",
                        "a deck lies straight on its joists")  # fmt: skip
    if len(placed) > closed:
        message = (f"Old drains: {len(placed)} placed, {closed} closed. One that stays open "
                   "takes no water under the new roof: close it, or say why it stays.")  # fmt: skip
        yield SurveyFlag("drains_abandoned", message, _TRADE, "old drains under a new roof")


def _sideways(part: RoofPart) -> Iterator[SurveyFlag]:
    """Yield a deck that falls along the new eave, so that the posts of one line differ."""
    one, falls = part.rectangle, ("front", "back")
    to = one.deck_drains_to
    if to in (None, "middle") or (to in falls) == (one.drains_to in falls):
        return
    along = one.width_m if to in falls else one.length_m
    if (drop := one.deck_slope * along) > _SIDEWAYS_M:
        yield _flag(f"The old deck of {part.name} falls {both(drop)} to the {to}, along the new "
                    f"eave at the {one.drains_to}: the posts of one line differ by as much, and "
                    "the eave wall is as much taller at that end. Check the fall on the roof.",
                    "a new fall follows the old one where it can")  # fmt: skip


def _heights(roof: RoofFrame) -> Iterator[SurveyFlag]:
    """Yield parts whose old roof lies above the mean roof height entered for wind."""
    for part in roof.parts:
        level, height = part.rectangle.roof_level_m, part.stated_height_m
        if height is not None and level > height + TOUCH_M:
            message = (
                f"The old roof of {part.name} is at level {both(level)}, above the mean roof "
                f"height of {both(height)} entered: wind is taken at that level there, the least "
                f"that it can be. Enter the mean roof height of {part.name}."
            )
            yield SurveyFlag("roof_height", message, "entered", "levels and height as entered")


def _spans(roof: RoofFrame) -> Iterator[SurveyFlag]:
    for fall in roof.falls:
        frame, framing = fall.frame, fall.frame.part.framing
        where = f"of {frame.part.name}, fall to the {frame.fall.side}"
        widest = frame.stations.widest_m
        if is_long(widest, frame.part.post_spacing_m):
            whose = "stated" if framing.post_spacing_m else "of light framing"
            yield _span(f"Purlins {where}: {_long_bays(frame)}, farther than the "
                        f"{both(frame.part.post_spacing_m)} {whose}.")  # fmt: skip
        between = frame.lines.widest_m
        if is_long(between, framing.purlin_spacing_m):
            yield _span(f"Cross members {where}: the structure gives purlin lines only every "
                        f"{both(between)}, farther than the {both(framing.purlin_spacing_m)} "
                        "stated.")  # fmt: skip
        if loose := off_posts(frame, fall.spliced_runs):
            lap = f" with laps of {both(framing.purlin_lap_m)}" if framing.purlin_lap_m else ""
            message = (
                f"Purlins {where}: stock of {both(framing.purlin_stock_m)}{lap} does not reach "
                f"from post to post, {both(widest)} apart. Splices between posts: {loose}. "
                "Enter a longer stock length, or have the engineer design these splices."
            )
            yield SurveyFlag("purlin_stock", message, "entered", "stock, lap and posts as entered")
        if frame.loose_ends:
            yield _flag(f"Purlin ends {where} that meet a hip or valley off the structure: "
                        f"{frame.loose_ends}. A header carries each, sized by the engineer.",
                        "posts stand on joists, beams or walls")  # fmt: skip


def _twice_divided(roof: RoofFrame) -> Iterator[SurveyFlag]:
    """Yield falls whose bays wind closes up more than it asks, since the field divides them too."""
    for frame in (fall.frame for fall in roof.falls if roof.zones):
        assert roof.zones is not None
        bay = frame.lines.widest_m
        field = bay / spaces(bay, frame.part.framing.purlin_spacing_m)
        for zone in range(len(roof.zones.rule(frame.part).names)):
            asked = roof.zones.spacing_m(frame.part, zone)
            laid, enough = (each / spaces(each, asked) for each in (field, bay))
            if bay > field + TOUCH_M and laid < enough - TOUCH_M:
                yield _flag(
                    f"Purlins of {frame.part.name}, fall to the {frame.fall.side}, where wind asks "
                    f"for {both(asked)}: laid {both(laid)} apart, and {both(enough)} would do. The "
                    f"field divides the bay of {both(bay)} first and wind divides its halves, so "
                    "purlins, clips and weight there are counted high.",
                    "purlins of the field run on through the zones of wind")  # fmt: skip


def _edge_walls(roof: RoofFrame) -> Iterator[SurveyFlag]:
    """Yield edges that posts stand at, where the first joist or beam surveyed lies farther in."""
    for part in roof.parts:
        one = part.rectangle
        if one.bearing_spacing_m is not None and one.bearing_first_m > TOUCH_M:
            edge = "left" if one.bearing_runs == "front-back" else "front"
            yield SurveyFlag(
                "bearing_first",
                f"Posts of {part.name} at its {edge} edge: the first joist or beam is "
                f"{both(one.bearing_first_m)} in. They are taken to rest on a wall or edge beam, "
                "which is not surveyed: have the engineer confirm that it bears.",
                "entered", "structure as entered",
            )  # fmt: skip


def _long_bays(frame: FallFrame) -> str:
    """Say how far apart the structure gives posts: everywhere, or in some bays only."""
    bays = np.diff(frame.stations.at_m).tolist()
    long = [k for k, bay in enumerate(bays) if is_long(bay, frame.part.post_spacing_m)]
    if len(long) > len(bays) / 2:
        return f"the structure gives posts only every {both(max(bays))}"
    low, high = frame.end_sides
    at = {0: f", that at the {low} edge", len(bays) - 1: f", that at the {high} edge"}
    place = at.get(long[0], "") if len(long) == 1 else ""
    return f"{len(long)} of {len(bays)} bays between posts{place}, up to {both(max(bays))}"


def _span(message: str) -> SurveyFlag:
    words = f"{message} The engineer sizes the member; no saving is taken for it."
    return SurveyFlag("bearing_spacing", words, "entered", "structure and spacings as entered")


def _eaves(roof: RoofFrame) -> Iterator[SurveyFlag]:
    """Yield parts raised to the eaves of their neighbours, and eaves a little out of level."""
    for part in roof.parts:
        if part.raised_m:
            yield _flag(f"Part {part.index + 1} is framed {both(part.raised_m, 1)} higher, so that "
                        "its eaves meet its neighbour's at one height: its lowest post is "
                        f"{both(part.lowest_post_m + part.raised_m, 1)}. Measure the old roof's "
                        "levels where the two meet.",
                        "eaves that meet in a valley are framed to one height")  # fmt: skip
    for each in roof.meetings:
        if not is_wing(each) or not TOUCH_M < abs(gap := eaves_apart_m(each)) < _NEAR_EAVES_M:
            continue
        lower, higher = (each.one, each.other) if gap > 0 else (each.other, each.one)
        yield _flag(f"The eaves of {lower.name} and {higher.name} meet {both(abs(gap), 1)} out of "
                    "level, so that a step is left beside their valley. A lowest post of "
                    f"{both(lower.lowest_post_m + lower.raised_m + abs(gap), 1)} in {lower.name} "
                    "brings them to one height.",
                    "eaves that meet in a valley are framed to one height")  # fmt: skip


def _wings(roof: RoofFrame) -> Iterator[SurveyFlag]:
    by_pair: dict[tuple[int, int], list[WingPosts]] = {}
    for each in roof.wing_posts:
        by_pair.setdefault((each.frame.part.index, each.main.index), []).append(each)
    for (wing, main), found in by_pair.items():
        marks = [mark_range(f"P{line_mark(each.frame, each.line)}", each.first, each.posts)
                 for each in found]  # fmt: skip
        headers = [long for each in found for long in each.headers_m]
        count, name = sum(each.posts for each in found), roof.parts[main].name
        stand = (f"Off the joists or beams of {name}: {len(headers)}; a header across the two "
                 f"beside each is counted, {both(max(headers))} the longest."
                 if headers else f"Each stands on a joist or beam of {name}.")  # fmt: skip
        yield _flag(f"Part {wing + 1} runs on over {name} up to its valleys. Its posts there, cut "
                    f"to the room over that deck: {count} ({', '.join(marks)}). {stand}",
                    "posts stand on joists, beams or walls")  # fmt: skip
    for meeting in roof.meetings:
        if _blocked_wing(meeting):
            one, side = meeting.one.name.capitalize(), meeting.side
            yield _flag(f"{one} meets the eave of {meeting.other.name} at its {side} higher "
                        "than that slope reaches: framed as a wall, not as valleys.",
                        "a valley needs a slope to run into")  # fmt: skip


def _blocked_wing(each: Meeting) -> bool:
    eave = OPPOSITE[each.side] in [fall.side for fall in each.other.falls]
    gable = eave and each.one.is_gable(each.side)
    return gable and not runs_on(each) and crest_over_eave_m(each) > TOUCH_M


def _parapets(roof: RoofFrame) -> Iterator[SurveyFlag]:
    """Yield parapets as tall as a storey, and the length of those that another part meets."""
    sums, free_m = roof.edges, Counter[tuple[int, str]]()
    for k in np.flatnonzero(sums.lower < 0).tolist():
        free_m[roof.facets[sums.upper[k]].over, side_of(sums.outward[k])] += sums.plan_m[k]
    for part in roof.parts:
        for side in OPPOSITE:
            high = float(getattr(part.rectangle, f"parapet_{side}_m"))
            if high > _TALL_PARAPET_M:
                yield _flag(f"The parapet of {part.name} at the {side} is {both(high)} high: a "
                            "wall of a story or more is a higher part of the building. Measure "
                            "it again from the old roof, or enter that part.",
                            "parapets are seldom more than 10 ft high")  # fmt: skip
            met = part.extent(side)[0] - free_m[part.index, side]
            if high and met > TOUCH_M:
                yield _flag(f"The parapet of {part.name} at the {side} is left out along "
                            f"{both(met)}, where another part meets that side. Where it stands "
                            "there, its flashing is to be added and the wall above it is lower.",
                            "a parapet stands on a free edge")  # fmt: skip
