"""From a roof survey to quantities, openings, added load, thermal movement and a first cost."""

from lcc.quantities.retrofit_link import room_m, survey, units_left
from lcc.quantities.takeoff import framed, into_retrofit, of_retrofit, quantities
from lcc.results.takeoff_result import Quantities

__all__ = [
    "Quantities",
    "framed",
    "into_retrofit",
    "of_retrofit",
    "quantities",
    "room_m",
    "survey",
    "units_left",
]
