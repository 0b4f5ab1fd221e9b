"""Where the roof is and what is under it."""

from __future__ import annotations

from dataclasses import dataclass

from lcc.case.fields import check, choice, key, part, quantity, text, whole
from lcc.errors import CaseError

USE = "from the building use"


@dataclass(frozen=True)
class WeatherFile:
    """An hourly weather file of the user's: EPW, TMY3 or TMY2, as text."""

    name: str = text("File name")
    text: str = text("Contents", kind="file")

    def __post_init__(self) -> None:
        check(self)


@dataclass(frozen=True)
class Site:
    """Where the roof is: a place, or the climate from a built-in station or a weather file."""

    place: str | None = text(
        "Place", None, when_unset="the climate is given", advanced=False,
        help='ZIP code, "Town, ST", or latitude and longitude; it chooses climate and zone.',
    )  # fmt: skip
    climate: str | None = key(
        "climates", "Climate", None, when_unset="the station that suits the place",
        advanced=False, help="A typical-year station of your own choice.",
    )  # fmt: skip
    weather: WeatherFile | None = part("Weather file", None, when_unset="the climate is used")
    climate_zone: str | None = text(
        "Climate zone", None, when_unset="the IECC 2012 zone of the place, or of the station",
        help="0 to 8 with moisture letter, such as 3A; needed with a weather file and no place.",
    )  # fmt: skip
    terrain: str = choice(
        "Terrain", ("open", "suburban", "urban"), "suburban",
        help="How sheltered from the wind.", basis="common practice", source="most towns",
    )  # fmt: skip

    def __post_init__(self) -> None:
        check(self)


@dataclass(frozen=True)
class Equipment:
    """What cools and heats the space, by rated efficiency."""

    cooling_eer: float = quantity(
        "eer", "Rated EER", 10.0, low=4, high=30, advanced=False,
        help="Cooling in Btu/h per watt at 95 °F outdoors.",
        basis="common practice", source="older air-cooled units 9 to 10.5",
    )  # fmt: skip
    eer_slope_per_k: float = quantity(
        "ratio", "Fall of EER per kelvin of outdoor air", 0.0216, low=0, high=0.05,
        basis="common practice", source="about 1.2 % per °F above and below 95 °F",
    )  # fmt: skip
    heating: str = choice(
        "Heating", ("gas", "heat-pump", "resistance"), "gas", advanced=False,
        basis="demo", source="the demo school",
    )  # fmt: skip
    heating_efficiency: float | None = quantity(
        "ratio", "Heating efficiency", None, low=0.3, high=6,
        help="Heat out per energy in; for a heat pump the rated figure at 47 °F.",
        when_unset="gas 0.80 (10 CFR 431), resistance 1, heat pump 3.2",
    )  # fmt: skip
    fan_power_w_m2: float = quantity(
        "power_density", "Fan power while heating or cooling", 0.0, low=0, high=50,
        help="Zero where the rated EER already holds the fan.",
        basis="common practice", source="rated EER includes the indoor fan",
    )  # fmt: skip

    def __post_init__(self) -> None:
        check(self)
        given = self.heating_efficiency
        if self.heating != "heat-pump" and given is not None and given > 1:
            raise CaseError("heating_efficiency", given, "at most 1 for gas and resistance heat")


@dataclass(frozen=True)
class Building:
    """The top storey: its use, its other faces and its thermostat."""

    use: str = key(
        "building_uses", "Building use", "school", advanced=False, basis="demo",
        source="the demo school", help="Sets gains, hours, set points and ventilation.",
    )  # fmt: skip
    storeys: int = whole(
        "Storeys", 1, low=1, high=200, basis="demo", source="the demo school",
        help="Only the top one is under the roof.",
    )  # fmt: skip
    storey_height_m: float = quantity(
        "length", "Storey height", 4.0, low=2, high=30, basis="common practice",
        source="low commercial buildings",
    )  # fmt: skip
    length_to_width: float = quantity(
        "ratio", "Length over width", 2.0, low=1, high=20, basis="common practice",
        source="ordinary plans",
    )  # fmt: skip
    long_axis_azimuth_deg: float = quantity(
        "angle", "Bearing of the long side", 90.0, low=0, high=360, basis="common practice",
        source="long side east to west",
    )  # fmt: skip
    wall_u_w_m2k: float = quantity(
        "u_value", "Wall U-value", 0.7, low=0.05, high=6, basis="common practice",
        source="insulated masonry or framing of about R-8",
    )  # fmt: skip
    window_fraction: float | None = quantity(
        "fraction", "Windows, part of wall", None, low=0, high=0.95, when_unset=USE
    )
    window_u_w_m2k: float = quantity(
        "u_value", "Window U-value", 3.2, low=0.5, high=7, basis="common practice",
        source="double glazing in metal frames",
    )  # fmt: skip
    window_solar_gain: float = quantity(
        "fraction", "Window solar heat gain coefficient", 0.4, low=0, high=1,
        basis="common practice", source="tinted double glazing with blinds",
    )  # fmt: skip
    ceiling_resistance_m2k_w: float = quantity(
        "resistance", "Suspended ceiling and its air space", 0.0, low=0, high=5,
        basis="common practice", source="none unless surveyed",
    )  # fmt: skip
    infiltration_per_h: float | None = quantity(
        "air_changes", "Infiltration", None, low=0, high=20, when_unset=USE
    )
    ventilation_m3_s_m2: float | None = quantity(
        "airflow_per_area", "Ventilation while occupied", None, low=0, high=0.05, when_unset=USE
    )
    gains_w_m2: float | None = quantity(
        "power_density", "Peak gains from people, lights, equipment", None, low=0, high=300,
        when_unset=USE,
    )  # fmt: skip
    heating_setpoint_c: float | None = quantity(
        "temperature", "Heating set point", None, low=-50, high=40, when_unset=USE
    )
    cooling_setpoint_c: float | None = quantity(
        "temperature", "Cooling set point", None, low=5, high=80, when_unset=USE
    )
    setback_k: float | None = quantity(
        "temperature_difference", "Setback outside hours", None, low=0, high=30, when_unset=USE
    )
    recovery_h: float = quantity(
        "hours", "Recovery ramp", 4.0, low=1, high=8, basis="common practice",
        help="Hours before opening over which the setback ends.",
        source="optimum-start controls spread the return over two to four hours",
    )  # fmt: skip
    mass: str = choice(
        "Mass of floor, walls and contents", ("light", "medium", "heavy"), "medium",
        basis="published", source="ISO 13790:2008 table 12, medium class",
    )  # fmt: skip
    conditioning: str | None = choice(
        "Conditioning", ("heated-and-cooled", "heated", "none"), None, when_unset=USE
    )
    equipment: Equipment = part("Equipment", Equipment)

    def __post_init__(self) -> None:
        check(self)
