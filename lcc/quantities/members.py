"""Counts and lengths of the whole plan: members, areas, and what is lifted or hired."""

from __future__ import annotations

import math

from lcc.case.framing import Framing
from lcc.quantities.framing_layout import Layout
from lcc.results.takeoff_result import Members, PostRow, Services, Surface


def schedule(layouts: tuple[Layout, ...]) -> tuple[PostRow, ...]:
    """Return the posts of every purlin line of every rectangle, eave to high end."""
    return tuple(
        row for number, each in enumerate(layouts, start=1) for row in each.post_rows(number)
    )


def members(layouts: tuple[Layout, ...]) -> Members:
    """Return posts, purlins, bracing, clips and fasteners of the whole plan.

    Notes
    -----
    Fasteners: those of every clip, of every post's base and cap, and of every panel's fixed
    point, as many each as the survey states. Purlins are net lengths, without laps.
    """
    framing, rows = layouts[0].framing, schedule(layouts)
    posts = sum(row.posts for row in rows)
    clips = sum(each.clips for each in layouts)
    panels = sum(each.panels for each in layouts)
    return Members(
        posts=posts,
        posts_height_m=math.fsum(row.height_m * row.posts for row in rows),
        tallest_post_m=max(row.height_m for row in rows),
        purlin_lines=sum(each.purlin_lines for each in layouts),
        purlins_m=math.fsum(each.purlin_lines * each.eave_m for each in layouts),
        bracing_lines=sum(each.bracing_lines for each in layouts),
        bracing_m=math.fsum(each.bracing_m for each in layouts),
        panels=panels,
        clips=clips,
        fasteners=clips * framing.fasteners_per_clip
        + posts * framing.fasteners_per_post
        + panels * framing.fasteners_per_fixed_end,
    )


def surface(layouts: tuple[Layout, ...]) -> Surface:
    """Return plan and panel areas; waste is apart from the net area.

    Notes
    -----
    Panel area is plan area over the cosine of the slope, A √(1 + s²) for a slope s.
    """
    framing = layouts[0].framing
    plan = math.fsum(each.plan_area_m2 for each in layouts)
    panel = math.fsum(each.plan_area_m2 * each.secant for each in layouts)
    thickness = framing.insulation_thickness_m or 0.0
    return Surface(
        plan_area_m2=plan,
        panel_area_m2=panel,
        waste_area_m2=panel * framing.waste,
        ordered_area_m2=panel * (1 + framing.waste),
        longest_panel_m=max(each.panel_length_m for each in layouts),
        insulation_area_m2=plan if thickness > 0 else 0.0,
        insulation_volume_m3=plan * thickness,
    )


def services(framing: Framing, plan_area_m2: float) -> Services:
    """Return what is lifted, cut, torn out and hired; a crane comes for whole days."""
    units = framing.rooftop_units
    return Services(
        rooftop_units=units,
        curbs=units if framing.curbs is None else framing.curbs,
        penetrations=framing.penetrations,
        tear_out_m2=framing.wet_area_m2,
        crane_days=math.ceil(plan_area_m2 / framing.crane_area_m2 * (1 - 1e-9)),
    )
