"""Charts as SVG, made on the server without a browser."""

from __future__ import annotations

import json
from functools import lru_cache
from typing import Any

import vl_convert
from markupsafe import Markup

from web.charts.figure import Figure


def draw(figure: Figure, height: int | None = None) -> Markup:
    """Return the picture of a figure as an ``svg`` element that may stand in a page.

    Parameters
    ----------
    figure : Figure
    height : int, optional
        Height of the plot [px] where it is not the chart's own.
    """
    size = {"width": figure.width} | ({"height": height} if height else {})
    return _drawn(json.dumps({**with_data(figure), **size}, sort_keys=True))


def with_data(figure: Figure) -> dict[str, Any]:
    """Return the specification of a figure together with its data."""
    return {**figure.spec, "datasets": figure.data}


@lru_cache(maxsize=128)
def _drawn(spec: str) -> Markup:
    # No address is allowed: a specification cannot make the server fetch anything.
    picture = vl_convert.vegalite_to_svg(spec, allowed_base_urls=[])
    return Markup(picture)  # made by the converter, which escapes every text
