"""Where a roof is: ZIP codes, towns and coordinates of the country, and the climate each gets."""

from lcc.place.certainty import said, said_of_file, said_of_zones, width_of, with_place
from lcc.place.gazetteer import Place
from lcc.place.nearest_station import Chosen, named, nearest
from lcc.place.zip_and_town import Found, find, locate, place_note, zone_at

__all__ = [
    "Chosen", "Found", "Place", "find", "locate", "named", "nearest", "place_note", "said",
    "said_of_file", "said_of_zones", "width_of", "with_place", "zone_at",
]  # fmt: skip
