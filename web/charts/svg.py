"""Charts as SVG, made on the server without a browser."""

import json
import re
from functools import lru_cache

import vl_convert
from markupsafe import Markup

from web.charts.figure import Figure

_PLACES = re.compile(r' (?:d|transform|x1|x2|y1|y2|x|y|width|height)="[^"]*"')
_DECIMALS = re.compile(r"-?\d+\.\d+")
# What shows nothing: words for no reader, what holds unsaid, hidden and unpainted marks.
_UNSEEN = re.compile(
    r' (?:aria-roledescription|aria-hidden|role|pointer-events|font-family|xmlns:xlink)="[^"]*"'
    r'| (?:opacity|fill-opacity|stroke-opacity|stroke-width)="1"'
    r'| (?:x2|y2)="0"| (?:version|class|stroke-miterlimit)="(?:1.1|marks|10)"'
    r'| stroke-linecap="butt"| transform="translate\(0,0\)"'
    r'|<path [^>]*display="none"[^>]*/>'
    r'|(?<!clip\d">)<path(?: (?!fill=|stroke=)[\w-]+="[^"]*")*/>'
    r'|<line [^>]*opacity="0"/>|(?<=<g)(?: class="[^"]*")'
)


def draw(figure: Figure, height: int | None = None, width: int | None = None) -> Markup:
    """Return the picture of a figure as an ``svg`` element that may stand in a page.

    Parameters
    ----------
    figure : Figure
    height : int, optional
        Height of the plot [px] where it is not the chart's own.
    """
    size = {"width": width or figure.width} | ({"height": height} if height else {})
    return _drawn(json.dumps({**figure.spec, "datasets": figure.data, **size}, sort_keys=True))


@lru_cache(maxsize=128)
def _drawn(spec: str) -> Markup:
    # No address is allowed: a specification cannot make the server fetch anything.
    picture = vl_convert.vegalite_to_svg(spec, allowed_base_urls=[])
    placed = _PLACES.sub(lambda found: _DECIMALS.sub(_tenth, found[0]), picture)
    return Markup(_UNSEEN.sub("", placed))  # made by the converter, which escapes every text


def _tenth(found: re.Match[str]) -> str:
    return f"{float(found[0]):.1f}".removesuffix(".0")
