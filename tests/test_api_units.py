"""Every unit against pint, and every text that is not in the table refused."""

import math
import time

import pint
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from lcc import units
from lcc.case.fields import SUFFIX

REGISTRY = pint.UnitRegistry()
REGISTRY.define("dollar = [currency]")
# Spelling here -> name in pint. Differences of temperature are not readings; the Btu is the
# International Table one (ISO 31-4), the therm is that of NIST SP 811, appendix B.
NAMES = {
    "10^6 Btu": "megaBtu_it",
    "kBtu": "kiloBtu_it",
    "Btu": "Btu_it",
    "degF": "delta_degree_Fahrenheit",
    "degC": "delta_degree_Celsius",
    "deg": "degree",
    "therm_US": "US_therm",
    "cfm": "(foot**3/minute)",
    "mph": "mile/hour",
    "lb": "pound",
    "oz": "ounce",
    "in": "inch",
    "ft": "foot",
    "day": "day",
    "y": "year",
    "years": "year",
    "$": "dollar",
    "h": "hour",
    "short_ton": "short_ton",
    "tonne": "tonne",
    "%": "percent",
    "K": "kelvin",
}
# The core's unit of each kind, for pint.
CORE = {
    "airflow": "m**3/s",
    "airflow_per_area": "m**3/s/m**2",
    "air_changes": "1/hour",
    "angle": "degree",
    "area": "m**2",
    "conductivity": "W/m/K",
    "density": "kg/m**3",
    "eer": "Btu_it/W/hour",
    "electricity": "kWh",
    "emissions_per_energy": "kg/kWh",
    "energy_per_area": "kWh/m**2",
    "expansion": "1/K",
    "film": "g/m**2",
    "flux": "W/m**2",
    "fraction": "dimensionless",
    "gas_energy": "kWh",
    "heat_capacity": "J/m**2/K",
    "heat_energy": "kWh",
    "hours": "hour",
    "length": "m",
    "mass": "kg",
    "mass_per_area": "kg/m**2",
    "mass_per_length": "kg/m",
    "moisture_flux": "g/m**2/day",
    "money": "dollar",
    "number_per_area": "1/m**2",
    "opening": "mm**2/m**2",
    "point_resistance": "K/W",
    "power": "kW",
    "power_density": "W/m**2",
    "price_per_area": "dollar/m**2",
    "price_of_gas": "dollar/kWh",
    "price_per_energy": "dollar/kWh",
    "price_per_length": "dollar/m",
    "price_per_mass": "dollar/kg",
    "price_per_power": "dollar/kW",
    "price_per_resistance": "dollar/m**2/(m**2*K/W)",
    "price_per_volume": "dollar/m**3",
    "rate": "dimensionless",
    "ratio": "dimensionless",
    "resistance": "m**2*K/W",
    "section": "m**2",
    "slope": "dimensionless",
    "specific_heat": "J/kg/K",
    "speed": "m/s",
    "temperature": "delta_degree_Celsius",
    "temperature_difference": "K",
    "thickness": "m",
    "u_value": "W/m**2/K",
    "volume": "m**3",
    "years": "year",
}
ROWS = [(kind, text) for kind in units.KINDS for text in units.spellings(kind)]
HOSTILE = (
    "9**9**9", "9**9**9 ft", "ft^9^9", "10**10**8 m", "_" * 50_000, "a" * 20_000,
    "24,5 m", "1 000 m", "1_0 m", "3'", '3"', "cfm", "RH", "R", "F", "C", "MBtu", "mil", "year",
    "{} ft", "__import__('os')", "١٢ ft", "1e999 m", "nan m", "inf m", "0x10 m", "+5 m", ".5 m",
    "5. m", "05 m", "5 m ", " 5 m", "5  m", "5\tm", "5 m\n", "5 m\x00", "5 M", "5 FT", "--5 m",
    "5 ft^2", "5 m·K/W", "5 ft²", "5e m", "1e-400 m", "5", "", " ", "ft", "5 (ft)", "1e100 m",
)  # fmt: skip


def in_pint(spelling):
    """Return a spelling as pint reads it; nothing of the project's table is used."""
    alias = {"sqft": "foot**2", "hr": "hour", "MMBtu": "megaBtu_it", "USD": "dollar"}
    if spelling in alias:
        return alias[spelling]
    if spelling == "in per 12 in":
        return "inch/(12*inch)"
    if spelling == "$/therm":
        return "dollar/US_therm"
    head, _, tail = spelling.replace("MMBtu", "10^6 Btu").partition(" per ")
    text = f"({head})/({tail})" if tail else head
    tokens, word = [], ""
    text = text.replace("10^6 Btu", "MEGA").replace("^", "**")
    for sign in text + " ":
        if sign.isalnum() or sign in "_$%":
            word += sign
            continue
        stem, power = (word[:-1], "**" + word[-1]) if word[1:] and word[-1] in "23" else (word, "")
        tokens.append((NAMES.get(stem, stem) if stem != "MEGA" else NAMES["10^6 Btu"]) + power)
        tokens.append(sign)
        word = ""
    return "".join(tokens).strip()


def test_every_kind_of_the_core_has_units():
    """No kind of quantity that a dataclass may name is without a unit."""
    assert set(SUFFIX) <= set(units.KINDS)
    assert set(units.KINDS) == {*CORE, "count"}


def test_factors_agree_with_pint():
    """Pint, an outside source of factors, agrees to 1e-12 relative on every spelling."""
    assert len(ROWS) > 100
    for kind, spelling in ROWS:
        one = REGISTRY.Quantity(1, REGISTRY.parse_units(in_pint(spelling).replace("12*", "")))
        if spelling == "in per 12 in":
            one /= 12
        expected = pytest.approx(one.to(CORE[kind]).magnitude, rel=1e-12)
        assert units.spelled(kind, spelling).factor == expected, (kind, spelling)


@pytest.mark.parametrize(
    ("kind", "system", "given", "core"),
    [
        # Pint 0.25: Quantity(10, "degF").to("degC"), and a difference of 10 degF in K.
        ("temperature", "ip", 10.0, REGISTRY.Quantity(10, "degF").to("degC").magnitude),
        ("temperature_difference", "ip", 10.0, 5.555555555555555),
        ("temperature", "si", 10.0, 10.0),
    ],
)
def test_readings_and_differences_of_temperature_are_kept_apart(kind, system, given, core):
    """A reading in degF has another zero than one in degC; a difference has not."""
    assert units.to_core(given, kind, system) == pytest.approx(core, rel=1e-12)
    assert units.from_core(core, kind, system) == pytest.approx(given, rel=1e-12)


@pytest.mark.parametrize("text", ["10 degF", "-12.2222222222 degC", "260.9277777778 K"])
def test_one_reading_in_three_scales(text):
    """The same reading in degF, degC and K is one temperature of the core."""
    assert units.parse(text, "temperature") == pytest.approx(-12.22222222, abs=1e-8)


@pytest.mark.parametrize("value", [1.0, 24000.0, 0.037, -3.5])
def test_what_is_converted_comes_back(value):
    """Both ways and back changes nothing within the twelve digits that are written."""
    for kind in units.KINDS:
        back = units.from_core(units.to_core(value, kind, "ip"), kind, "ip")
        assert back == pytest.approx(value, rel=1e-11), kind
        assert units.from_core(units.to_core(value, kind, "si"), kind, "si") == value, kind


@pytest.mark.parametrize("kind", ["resistance", "length", "fraction", "count"])
def test_texts_outside_the_table_are_refused(kind):
    """Nothing is guessed: a text that is not exactly a number and a known unit is refused."""
    for text in HOSTILE:
        with pytest.raises(units.UnitError) as caught:
            units.parse(text, kind)
        assert caught.value.detail, text


@pytest.mark.parametrize(
    ("text", "kind", "instead"),
    [
        ("R-19", "resistance", "h*ft^2*degF/Btu"),
        ("R19", "resistance", "m^2*K/W"),
        ("3 MBtu", "heat_energy", "10^6 Btu"),
        ("3 therm", "gas_energy", "therm_US"),
        ("3 ton", "mass", "short_ton"),
        ("70 $/ton", "price_per_mass", "$/short_ton"),
        ("70 F", "temperature", "degF"),
        ("60 mil", "thickness", "in"),
        ("5 R", "resistance", "h*ft^2*degF/Btu"),
        ("100 squares", "area", "ft^2"),
        ("2 cfm", "airflow_per_area", "cfm/ft^2"),
    ],
)
def test_ambiguous_trade_spellings_name_the_clear_ones(text, kind, instead):
    """A trade name with two readings is refused with what to write in its place."""
    with pytest.raises(units.UnitError) as caught:
        units.parse(text, kind)
    assert instead in caught.value.allowed


def test_a_unit_of_another_kind_says_whose_it_is():
    """The error names the kind that the unit given belongs to."""
    with pytest.raises(units.UnitError, match=r"'ft' is not a unit of area but of length"):
        units.parse("3 ft", "area")
    with pytest.raises(units.UnitError, match="'feet' is not a unit of length here; write 'ft'"):
        units.parse("100 feet", "length")


@settings(max_examples=300)
@given(st.text(max_size=60) | st.from_regex(r"\A-?[0-9]{1,4}[^ ]? ?[a-z^*/()0-9]{0,20}\Z"))
@example("5 m")
def test_any_text_is_read_quickly_and_only_by_the_grammar(text):
    """A text is in the table's grammar or refused, in under a millisecond a kind."""
    start = time.perf_counter()
    for kind in ("area", "resistance", "temperature"):
        try:
            value = units.parse(text, kind)
        except units.UnitError:
            continue
        number, _, spelling = text.partition(" ")
        assert spelling in units.spellings(kind)
        assert number.isascii()
        assert math.isfinite(value)
    # Generous for a shared machine: the mean of three parses, not the single worst one.
    assert time.perf_counter() - start < 0.05


def test_numbers_of_a_text_stay_finite():
    """The grammar's longest exponents cannot leave the range of numbers."""
    assert math.isfinite(units.parse("-9e99 m", "length"))
