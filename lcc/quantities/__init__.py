"""From a roof survey to quantities, openings, added load, thermal movement and a first cost."""

from lcc.quantities.front import framed, into_retrofit, of_retrofit, quantities, survey
from lcc.quantities.results import Quantities
from lcc.quantities.traced import traced

__all__ = ["Quantities", "framed", "into_retrofit", "of_retrofit", "quantities", "survey", "traced"]
