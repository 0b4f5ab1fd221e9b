"""Where the roof is and what is under it."""

from dataclasses import dataclass, field
from typing import Annotated

from lcc.case.fields import CasePart, Choice, Key, Part, Quantity, TableRow, Text, Whole
from lcc.errors import CaseError

USE = TableRow("building_uses", "use")
OVERHEAD = TableRow("overheads", "overhead")

# Fields are laid out by hand, to be read as a table.
# fmt: off


@dataclass(frozen=True)
class WeatherFile(CasePart):
    """An hourly weather file of the user's: EPW, TMY3 or TMY2, as text."""

    name: Annotated[str, Text("File name")]
    text: Annotated[str, Text("Weather file", kind="file")] = field(repr=False)


@dataclass(frozen=True)
class Site(CasePart):
    """Where the roof is: a place, or the climate from a built-in station or a weather file."""

    place: Annotated[str | None, Text(
        "Place", when_unset="the climate is given", advanced=False,
        help='ZIP code, town or county with its state, or latitude and longitude.')] = None
    climate: Annotated[str | None, Key(
        "climates", "Climate", when_unset="the station that suits the place", advanced=False,
        help="A typical-year station of your own choice.")] = None
    weather: Annotated[WeatherFile | None, Part(
        "Weather file", when_unset="the climate is used")] = None
    climate_zone: Annotated[str | None, Text(
        "Climate zone", when_unset="the IECC 2012 zone of the place, or of the station",
        help="0 to 8 with moisture letter, such as 3A; needed with a weather file and no "
        "place.")] = None
    sky: Annotated[str, Choice(
        "Heat from the sky", ("computed", "of-the-file"), basis="published",
        help="With a weather file: computed from its dew point and cloud as for the stations, or "
        "its own infrared, which its maker computed another way.",
        source="Berdahl and Martin 1984, whose coefficients held within the error of measurement "
        "elsewhere (Granada, Theoretical and Applied Climatology 48, 1993)")] = "computed"
    terrain: Annotated[str, Choice(
        "Terrain", ("open", "suburban", "urban"), help="How sheltered from the wind.",
        basis="common practice", source="most towns")] = "suburban"


@dataclass(frozen=True)
class Equipment(CasePart):
    """What cools and heats the space, by rated efficiency."""

    cooling_eer: Annotated[float, Quantity(
        "eer", "Rated EER", low=4, high=30, advanced=False,
        help="Cooling in Btu/h per watt at 95 °F outdoors.", basis="common practice",
        source="older air-cooled units 9 to 10.5")] = 10.0
    eer_slope_per_k: Annotated[float, Quantity(
        "ratio", "Fall of EER per °C of outdoor air", low=0, high=0.05, basis="common practice",
        source="about 1.2% per °F above and below 95 °F")] = 0.0216
    heating: Annotated[str, Choice(
        "Heating", ("gas", "heat-pump", "resistance"), advanced=False, basis="from memory",
        source="usual for commercial buildings: most are heated by gas (EIA, CBECS)")] = "gas"
    heating_efficiency: Annotated[float | None, Quantity(
        "ratio", "Heating efficiency", low=0.3, high=6,
        help="Heat out per energy in; for a heat pump the rated figure at 47 °F.",
        when_unset="gas 0.80 (10 CFR 431.77), resistance 1, heat pump 3.2",
        row=TableRow("heating", "heating", "efficiency"))] = None
    cooling_capacity_w_m2: Annotated[float | None, Quantity(
        "power_density", "Rated cooling capacity", low=5, high=1000,
        help="Of all units over this roof; the larger they are, the less of them is used.",
        when_unset="the year's highest load with 15% to spare")] = None
    fan: Annotated[str, Choice(
        "Supply fan", ("with-load", "while-occupied"), basis="common practice",
        help="Runs with the heating or cooling only, or on through occupied hours.",
        source="thermostat set to auto")] = "with-load"
    fan_power_w_m2: Annotated[float, Quantity(
        "power_density", "Fan power while it runs", low=0, high=50,
        help="Zero where the rated EER already holds the fan.", basis="common practice",
        source="rated EER includes the indoor fan")] = 0.0

    def __post_init__(self) -> None:
        super().__post_init__()
        given = self.heating_efficiency
        if self.heating == "heat-pump" and given is not None and given < 1:
            raise CaseError("heating_efficiency", given, "at least 1 for a heat pump (its COP)")
        if self.heating != "heat-pump" and given is not None and given > 1:
            raise CaseError("heating_efficiency", given, "at most 1 for gas and resistance heat")


@dataclass(frozen=True)
class Building(CasePart):
    """The top storey: its use, its other faces and its thermostat."""

    use: Annotated[str, Key(
        "building_uses", "Building use", advanced=False, basis="demo",
        source="invented: no use was entered",
        help="Sets gains, hours, set points and ventilation.")] = "school"
    storeys: Annotated[int, Whole(
        "Stories", low=1, high=200, basis="common practice",
        source="usual for a building with a low-slope roof",
        help="Only the top one is under the roof.")] = 1
    storey_height_m: Annotated[float, Quantity(
        "length", "Story height", low=2, high=30, basis="common practice",
        source="low commercial buildings")] = 4.0
    length_to_width: Annotated[float, Quantity(
        "ratio", "Length over width", low=1, high=20, basis="common practice",
        source="ordinary plans")] = 2.0
    long_axis_azimuth_deg: Annotated[float, Quantity(
        "angle", "Bearing of the long side", low=0, high=360, basis="common practice",
        source="long side east to west")] = 90.0
    wall_u_w_m2k: Annotated[float, Quantity(
        "u_value", "Wall U-value", low=0.05, high=6, basis="common practice",
        source="insulated masonry or framing of about R-8")] = 0.7
    window_fraction: Annotated[float | None, Quantity(
        "fraction", "Windows, part of wall", low=0, high=0.95, row=USE)] = None
    window_u_w_m2k: Annotated[float, Quantity(
        "u_value", "Window U-value", low=0.5, high=7, basis="common practice",
        source="double glazing in metal frames")] = 3.2
    window_solar_gain: Annotated[float, Quantity(
        "fraction", "Window solar heat gain coefficient", low=0, high=1, basis="common practice",
        source="tinted double glazing with blinds")] = 0.4
    overhead: Annotated[str | None, Choice(
        "What do you see when you look up?",
        ("open-deck", "suspended-ceiling", "return-plenum", "ducts-above-ceiling", "attic"),
        advanced=False, row=USE,
        help="The deck itself; a ceiling; a ceiling with air going back above it; a ceiling with "
        "ducts above it; or a ceiling under a vented attic.")] = None
    ceiling_resistance_m2k_w: Annotated[float | None, Quantity(
        "resistance", "Ceiling and what lies on it", low=0, high=12, row=OVERHEAD,
        help="Without its air space; 0 where there is no ceiling.")] = None
    duct_loss: Annotated[float | None, Quantity(
        "fraction", "Heat lost by ducts above the ceiling", low=0, high=0.5, row=OVERHEAD,
        help="Leaks and conduction, as a part of the heat or cold in the supply air.")] = None
    return_leak: Annotated[float | None, Quantity(
        "fraction", "Air that the return draws from above the ceiling", low=0, high=0.5,
        row=OVERHEAD, help="Leaks of the return ducts and the unit, as a part of its air.")] = None
    infiltration_per_h: Annotated[float | None, Quantity(
        "air_changes", "Infiltration", low=0, high=20, row=USE)] = None
    ventilation_m3_s_m2: Annotated[float | None, Quantity(
        "airflow_per_area", "Ventilation while occupied", low=0, high=0.05, row=USE)] = None
    gains_w_m2: Annotated[float | None, Quantity(
        "power_density", "Peak gains from people, lights, equipment", low=0, high=300,
        row=USE)] = None
    moisture_gains_w_m2: Annotated[float | None, Quantity(
        "power_density", "Moisture from people and work, as heat", low=0, high=300, row=USE,
        help="What cooling removes of it takes electricity too.")] = None
    heating_setpoint_c: Annotated[float | None, Quantity(
        "temperature", "Heating set point", low=-50, high=40, row=USE)] = None
    cooling_setpoint_c: Annotated[float | None, Quantity(
        "temperature", "Cooling set point", low=-40, high=80, row=USE)] = None
    setback_k: Annotated[float | None, Quantity(
        "temperature_difference", "Setback outside hours", low=0, high=30, row=USE)] = None
    recovery_h: Annotated[float, Quantity(
        "hours", "Recovery ramp", low=1, high=8, basis="common practice",
        help="Hours before opening over which the setback ends.",
        source="optimum-start controls spread the return over two to four hours")] = 4.0
    mass: Annotated[str, Choice(
        "Mass of floor, walls and contents", ("light", "medium", "heavy"), basis="published",
        source="ISO 13790:2008 table 12, medium class")] = "medium"
    conditioning: Annotated[str | None, Choice(
        "Conditioning", ("heated-and-cooled", "heated", "none"), row=USE)] = None
    equipment: Annotated[Equipment, Part("Equipment")] = Equipment()
