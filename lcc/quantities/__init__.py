"""From a roof survey to quantities, openings, added load, thermal movement and a first cost."""

from lcc.quantities.front import framed, into_retrofit, of_retrofit, quantities
from lcc.quantities.results import Quantities
from lcc.quantities.surveying import room_m, survey, units_left
from lcc.quantities.traced import traced

__all__ = [
    "Quantities",
    "framed",
    "into_retrofit",
    "of_retrofit",
    "quantities",
    "room_m",
    "survey",
    "traced",
    "units_left",
]
