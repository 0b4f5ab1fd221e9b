"""From a roof survey to quantities, openings, added load, thermal movement and a first cost."""

from lcc.quantities.retrofit_link import counted, left_to_do, room_m, survey, with_counts
from lcc.quantities.takeoff import (
    framed,
    held,
    into_retrofit,
    of_retrofit,
    quantities,
    without_prices,
)
from lcc.results.takeoff_result import Quantities

__all__ = [
    "Quantities", "counted", "framed", "held", "into_retrofit", "left_to_do", "of_retrofit",
    "quantities", "room_m", "survey", "with_counts", "without_prices",
]  # fmt: skip
