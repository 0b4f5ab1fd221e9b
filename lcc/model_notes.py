"""What the figures of every case leave out, and how much it could matter."""

from lcc.case import Case
from lcc.heat.climate import stand_in
from lcc.place import place_note, said

FILM = (
    "Wind carries less heat off a large roof than off a wall: beside the plain rule of ISO 6946, "
    "4 + 4 times the wind, the film used here (Clear and others 2003) raises the cooling saved by "
    "1 to 14%, by climate."
)
BESIDE_METERS = (
    "For five measured buildings, known in part, the model gives 0.4 to 1.2 times the cooling "
    "saving that was measured"
)
ENERGY_IN_BRIEF = (
    "The energy figures leave out warmer air at units on a hot roof, outdoor air that leaky ducts "
    f"draw in, shade and snow. {BESIDE_METERS}."
)
ENERGY_LEAVES_OUT = (
    "Left out of the energy figures: a hot roof warms the air at its units, and each °F takes "
    "1.2% more electricity for cooling; the heat that lamps give to the air above a ceiling, up to "
    "2% of the cooling saved; outdoor air that leaky ducts draw in; shade and snow on the roof; "
    "furnaces that cycle. What cooling units lose by cycling is from memory: with the loss by "
    "which small ones are rated (from memory), cooling takes 7% more electricity and a roof saves "
    "6 to 10% more of it. Light roofs come out about 3 K warmer in still air than measured ones, "
    f"which takes up to a tenth off what they save. {BESIDE_METERS}: see the evidence."
)
TYPICAL_YEAR = (
    "The weather is one typical year, repeated. The built-in years are drawn from 1976 to 2005, "
    "and later ones are warmer: beside years to 2019 the middle one of 20 stations has 6% more "
    "heating and 12% fewer cooling degree days."
)
YEAR_OF_FILE = "The weather is the one year of the weather file, repeated."
NOTES = (
    "Cooling takes moisture out with heat, as a unit does at its rating. Moisture kept in goods, "
    "and water that evaporates off a coil at rest, are left out: some per cent of the cooling.",
    "No heat passes through the floor of the top story.",
    TYPICAL_YEAR,
    "Costs are in base-year money and fall at the end of their year; a covering lasts its life "
    "rounded to whole years.",
    "What is left of a new roof at the end is counted by the years it still has, at the year's "
    "prices; tear-off, disruption and the roof of today count nothing.",
    "Interior damage beyond the sum entered, lost rent, and fire or storm losses are left out.",
    FILM,
    ENERGY_LEAVES_OUT,
)
TWO_PARTS = (
    "A roof done in two parts: each part is counted with its own area, and things counted are "
    "shared out by area; energy is the mean of both states by area; the joint is not priced."
)


def notes(case: Case) -> tuple[str, ...]:
    """Return what the figures of a case leave out, and whose weather its place has."""
    station = stand_in(case.site)
    parts = (TWO_PARTS,) if done_in_parts(case) else ()
    place = place_note(case.site.place)
    always = (YEAR_OF_FILE if case.site.weather and one is TYPICAL_YEAR else one for one in NOTES)
    return (*always, *parts, *((said(*station),) if station else ()), *((place,) if place else ()))


def done_in_parts(case: Case) -> bool:
    """Tell whether a choice leaves a part of the roof for a later year."""
    choices = case.choices
    return any(getattr(each, "rest_after_y", None) is not None for each in choices)
