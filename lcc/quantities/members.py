"""Counts and lengths of the whole plan: members, areas, and what is lifted or hired."""

import math
from collections.abc import Sequence, Set
from itertools import groupby

import numpy as np

from lcc.arrays import Array
from lcc.case.rectangle import OPPOSITE
from lcc.quantities.bearing_loads import net_uplift_kg
from lcc.quantities.cut_list import line_mark, valley_supports
from lcc.quantities.drainage import scuppers
from lcc.quantities.long_spans import allowances_m
from lcc.quantities.part_weights import PartWeights
from lcc.quantities.polygons import TOUCH_M
from lcc.quantities.post_lines_and_heights import PurlinLine
from lcc.quantities.purlin_pieces import sticks_for, valley_splices_m
from lcc.quantities.roof_edges import FREE_EDGES
from lcc.quantities.roof_frame import FramedFall, RoofFrame
from lcc.quantities.snow_and_drift import drifted_lines
from lcc.results.takeoff_result import Drainage, Members, PostRow, Services, Surface

CRANE_LOW_M, CRANE_SLOWER_PER_M = 6.0, 0.02


def schedule(roof: RoofFrame, weights: PartWeights) -> tuple[PostRow, ...]:
    """Return the posts of every purlin line of every part, eave to high end.

    Parameters
    ----------
    roof : RoofFrame
        The roof.
    weights : PartWeights
        What each part adds.

    Notes
    -----
    Lines that are alike on both sides of a ridge are one row, counted twice.
    """
    rows, drifted = [], drifted_lines(roof)
    dead = [_by_line(roof, load) for load in (weights.added_kg_m2, weights.hung_kg_m2)]
    for _, group in groupby(roof.falls, key=lambda fall: fall.frame.part.index):
        first, *others = list(group)
        twins = _twins(first, others)
        rest = [fall for fall in others if not twins or fall is not others[0]]
        for fall in (first, *rest):
            like = twins if fall is first else {}
            rows += [_row(fall, line, like, dead, windy=roof.zones is not None, drifted=drifted)
                     for line in fall.lines if line.posts_m.size]  # fmt: skip
    return tuple(rows)


def _by_line(roof: RoofFrame, load_kg_m2: Array) -> dict[tuple[int, str, int], Array]:
    """Return what each post of every line carries [kg]: by part, side of the fall and number."""
    lines = [((fall.frame.part.index, fall.frame.fall.side, line.number), len(line.posts_m))
             for fall in roof.falls for line in fall.lines]  # fmt: skip
    ends = np.cumsum([posts for _, posts in lines])[:-1]
    each = np.split(roof.borne.on_posts_kg(load_kg_m2), ends)
    return {key: kg for (key, _), kg in zip(lines, each, strict=True)}


def _twins(first: FramedFall, others: list[FramedFall]) -> dict[int, PurlinLine]:
    """Return the lines of the opposite fall by number, where all of them are alike."""
    if not others or others[0].frame.is_hip or len(first.lines) != len(others[0].lines):
        return {}
    pairs = list(zip(first.lines, others[0].lines, strict=True))
    same = all(
        np.isclose(a.from_eave_m, b.from_eave_m)
        and (not b.posts_m.size or (a.posts_m.shape == b.posts_m.shape
                                    and np.allclose(a.heights_m, b.heights_m)))
        for a, b in pairs
    )  # fmt: skip
    return {b.number: b for _, b in pairs if b.posts_m.size} if same else {}


def _row(
    fall: FramedFall, line: PurlinLine, twins: dict[int, PurlinLine],
    dead: Sequence[dict[tuple[int, str, int], Array]], *, windy: bool,
    drifted: Set[tuple[int, str, int]],
) -> PostRow:  # fmt: skip
    part, side = fall.frame.part.index, fall.frame.fall.side
    sides = (side, OPPOSITE[side]) if line.number in twins else (side,)
    also = "".join(f", {each[0].upper()}{line.number}" for each in sides[1:])
    heights, carried, pulled = line.heights_m, line.carried_m2, line.pulled_kg
    added, hung = (each[part, side, line.number] for each in dead)
    if twin := twins.get(line.number):
        carried = np.concatenate([carried, twin.carried_m2])
        pulled = np.concatenate([pulled, twin.pulled_kg])
        added, hung = (np.concatenate([each[part, one, line.number] for one in sides])
                       for each in dead)  # fmt: skip
    shortest, tallest = min(heights.tolist()), max(heights.tolist())
    return PostRow(
        rectangle=part + 1,
        line=line.number,
        from_eave_m=line.from_eave_m,
        height_m=float(heights.mean()) if tallest - shortest > 1e-9 else float(heights[0]),
        rows=len(sides),
        posts=len(sides) * len(heights),
        fall=side,
        shortest_m=shortest,
        tallest_m=tallest,
        carried_m2=max(carried.tolist()),
        together_m2=float(carried.sum()),
        mark=f"P{line_mark(fall.frame, line.number)}{also}",
        reaction_kg=max(added.tolist()),
        uplift_kg=max(0.0, *pulled.tolist()) if windy else None,
        net_uplift_kg=float(net_uplift_kg(pulled, hung).max()) if windy else None,
        may_drift=any((part, each, line.number) in drifted for each in sides),
    )


def members(roof: RoofFrame) -> Members:
    """Return posts, purlins, bracing, clips and fasteners of the whole plan.

    Notes
    -----
    Fasteners: those of every clip, of every post's base and cap, and of every panel's fixed
    point, as many each as the survey states. Purlins are net lengths, their laps apart. The support
    under a sloping valley is as long as the valley, cut from stock as purlins are.
    """
    framing, falls = roof.framing, roof.falls
    heights = np.concatenate([line.heights_m for fall in falls for line in fall.lines])
    runs = [(fall.frame, line) for fall in falls for line in fall.lines if line.runs]
    joined = _lines_in_line(roof)
    clips = sum(fall.panels.clips(fall.lines) for fall in falls) - joined
    panels = int(sum(fall.panels.numbers.sum() for fall in falls))
    posts = len(heights)
    spliced = [run for fall in falls for run in fall.spliced_runs]
    splices = sum(len(run.splices_m) for run in spliced)
    splices += sum(len(valley_splices_m(long, framing)) for _, _, long in valley_supports(roof))
    headers = [long for each in roof.wing_posts for long in each.headers_m]
    return Members(
        posts=posts,
        posts_height_m=math.fsum(heights),
        tallest_post_m=float(heights.max()),
        purlin_lines=len(runs) - joined,
        purlins_m=math.fsum(line.length_m for _, line in runs),
        bracing_lines=_bracing_lines(roof),
        bracing_m=math.fsum(fall.frame.bracing_m for fall in falls),
        panels=panels,
        clips=clips,
        fasteners=clips * framing.fasteners_per_clip
        + posts * framing.fasteners_per_post
        + panels * framing.fasteners_per_fixed_end,
        cross_members_m=math.fsum((*headers, *(fall.cross_members_m for fall in falls))),
        heavier_purlins_m=math.fsum(long for _, long in allowances_m(roof)),
        valley_support_m=roof.edges.length("valley"),
        purlin_splices=splices,
        purlin_laps_m=splices * framing.purlin_lap_m,
        purlin_sticks=sticks_for(
            [piece for run in spliced for piece in run.pieces_m], framing.purlin_stock_m
        ),
    )


def as_purlin_m(members: Members) -> float:
    """Return all bought and weighed as purlin [m]: laps, cross members and valleys too."""
    return math.fsum((
        members.purlins_m, members.purlin_laps_m, members.cross_members_m,
        members.heavier_purlins_m, members.valley_support_m,
    ))  # fmt: skip


def _lines_in_line(roof: RoofFrame) -> int:
    """Return where purlin lines of two parts meet end to end: one line, with one clip at the seam.

    They do at a seam where one panel plane goes on.
    """
    sums, shared = roof.edges, set[tuple[int, int, str, int]]()
    falls = {(each.frame.part.index, each.frame.fall.side): each for each in roof.falls}
    for k in np.flatnonzero(sums.role == "through").tolist():
        one, two = (roof.facets[facet] for facet in (sums.upper[k], sums.lower[k]))
        if one.part == two.part or one.fall.side != two.fall.side:
            continue
        mine, theirs = (falls[each.part, each.fall.side] for each in (one, two))
        ends = sums.start[k], sums.end[k]
        beside = list(_at_seam(theirs, *ends).values())
        shared |= {(one.part, two.part, one.fall.side, line)
                   for line, at in _at_seam(mine, *ends).items()
                   if any(abs(at - other) < TOUCH_M for other in beside)}  # fmt: skip
    return len(shared)


def _at_seam(fall: FramedFall, start: Array, end: Array) -> dict[int, float]:
    """Return where lines cross a stretch of the plan, if it is an end seam of the fall [m]."""
    frame, along = fall.frame, 1 if fall.frame.level else 0
    u, (low, high) = start[1 - along], sorted((start[along], end[along]))
    if abs(end[1 - along] - u) > TOUCH_M or np.abs(np.array(frame.ends_m) - u).min() > TOUCH_M:
        return {}
    found = {line.number: float(frame.place(u, line.from_eave_m)[along]) for line in fall.lines
             if any(a - TOUCH_M <= u <= b + TOUCH_M for a, b in line.runs)}  # fmt: skip
    return {line: at for line, at in found.items() if low - TOUCH_M <= at <= high + TOUCH_M}


def _bracing_lines(roof: RoofFrame) -> int:
    """Return bracing lines; one that crosses a ridge counts once."""
    frames = [fall.frame for fall in roof.falls]
    places = {
        (each.part.index, each.fall.side if each.is_hip else ""): len(each.brace_places_m)
        for each in frames
    }
    return sum(places.values())


def surface(roof: RoofFrame) -> Surface:
    """Return plan and panel areas; waste is apart from the net area.

    Notes
    -----
    Panel area is plan area over the cosine of the slope, A √(1 + s²) for a slope s. A panel that
    a hip or a valley cuts is ordered as long as its longer side, the last of an eave as wide as the
    others.
    """
    framing = roof.framing
    plan = math.fsum(each.plan_area_m2 for each in roof.shapes)
    panel = math.fsum(fall.frame.panel_area_m2 for fall in roof.falls)
    ordered, longest = [], []
    for fall in roof.falls:
        ordered.append(
            float(fall.panels.lengths_m.sum()) * framing.panel_cover_m * fall.frame.secant
        )
        longest.append(float(fall.panels.lengths_m.max()) * fall.frame.secant)
    cut = max(math.fsum(ordered) - panel, 0.0)
    cut = cut if cut > 1e-9 * panel else 0.0
    thickness = framing.insulation_thickness_m or 0.0
    return Surface(
        plan_area_m2=plan,
        panel_area_m2=panel,
        waste_area_m2=panel * framing.waste + cut,
        ordered_area_m2=panel * (1 + framing.waste) + cut,
        longest_panel_m=max(longest),
        insulation_area_m2=plan if thickness > 0 else 0.0,
        insulation_volume_m3=plan * thickness,
    )


def services(roof: RoofFrame, plan_area_m2: float, drains: tuple[Drainage, ...]) -> Services:
    """Return what is lifted, cut, torn out and hired; a crane comes for whole days.

    Notes
    -----
    Over 6 m of eave each further metre adds 2 % to the crane's days: invented, as a prompt to ask.
    Every scupper through a parapet has an overflow scupper beside it.
    """
    framing, work = roof.framing, roof.framing.other_work
    units, height = framing.rooftop_units, work.access_height_m or 0.0
    stony_m2, stone_kg = framing.stone
    slower = 1 + CRANE_SLOWER_PER_M * max(height - CRANE_LOW_M, 0.0)
    through = sum(scuppers(roof).values())
    return Services(
        rooftop_units=units,
        curbs=units if framing.curbs is None else framing.curbs,
        penetrations=framing.penetrations,
        tear_out_m2=framing.wet_area_m2,
        crane_days=math.ceil(plan_area_m2 / framing.crane_area_m2 * slower * (1 - 1e-9)),
        skylights_carried=work.skylights_carried,
        skylights_covered=work.skylights_covered,
        ballast_kg_m2=stone_kg / stony_m2 if stony_m2 else 0.0,
        ballast_area_m2=stony_m2,
        expansion_joint_m=work.expansion_joint_m,
        storm_ties=sum(each.downspouts + each.outlets for each in drains) if work.storm_ties else 0,
        scuppers=through,
        overflow_scuppers=through,
        drains_abandoned=work.drains_abandoned,
        access_m2=_wall_below_m2(roof, height),
        set_up_m2=plan_area_m2 if work.scaled_set_up else 0.0,
    )


def _wall_below_m2(roof: RoofFrame, eave_m: float) -> float:
    """Return the wall below the open edges [m²]: the eave above the ground, less at a lower part.

    Notes
    -----
    A part lower than the highest by the whole eave height has its own ground: it keeps that height.
    """
    sums = roof.edges
    levels = np.array([each.rectangle.roof_level_m for each in sums.edges.roof])
    heights = eave_m - (levels.max() - levels)
    heights = np.where(heights > 0, heights, eave_m)
    part = np.array([each.over for each in sums.edges.facets])[sums.upper]
    return float((sums.plan_m * heights[part])[np.isin(sums.role, FREE_EDGES)].sum())
