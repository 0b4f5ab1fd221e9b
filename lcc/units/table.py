"""The closed table of units: every kind's spellings and factors, and the customary unit."""

from typing import Literal, get_args

from lcc import tables

System = Literal["ip", "si"]
SYSTEMS: tuple[System, ...] = get_args(System)

FOOT_M = 0.3048
INCH_M = FOOT_M / 12
POUND_KG = 0.45359237
OUNCE_KG = POUND_KG / 16
SHORT_TON_KG = 2000 * POUND_KG
KELVIN_PER_DEGF = 5 / 9
KWH_J = 3.6e6
BTU_J = 1055.05585262
BTU_KWH = BTU_J / KWH_J
THERM_US_KWH = 1.054804e8 / KWH_J
FLUX = BTU_J / 3600 / FOOT_M**2

# Spelling -> number of core units in one such unit; the first is the core's own.
_AREA = {"m^2": 1.0, "cm^2": 1e-4, "mm^2": 1e-6, "ft^2": FOOT_M**2, "in^2": INCH_M**2}
_LENGTH = {"m": 1.0, "cm": 1e-2, "mm": 1e-3, "ft": FOOT_M, "in": INCH_M}
_ENERGY_PRICE = {
    "$/kWh": 1.0,
    "$/MWh": 1e-3,
    "$/therm_US": 1 / THERM_US_KWH,
    "$/10^6 Btu": 1 / (1e6 * BTU_KWH),
}
_FLUX = {"W/m^2": 1.0, "W/ft^2": 1 / FOOT_M**2, "Btu/(h*ft^2)": FLUX}
_ENERGY = {
    "kWh": 1.0,
    "MWh": 1e3,
    "MJ": 1e6 / KWH_J,
    "GJ": 1e9 / KWH_J,
    "kBtu": 1e3 * BTU_KWH,
    "10^6 Btu": 1e6 * BTU_KWH,
    "therm_US": THERM_US_KWH,
}
_PLAIN = {"%": 0.01}

TABLE: dict[str, dict[str, float]] = {
    "air_changes": {"1/h": 1.0},
    "airflow": {"m^3/s": 1.0, "L/s": 1e-3, "cfm": FOOT_M**3 / 60},
    "airflow_per_area": {"m^3/(s*m^2)": 1.0, "L/(s*m^2)": 1e-3, "cfm/ft^2": FOOT_M / 60},
    "angle": {"deg": 1.0},
    "area": _AREA,
    "conductivity": {
        "W/(m*K)": 1.0,
        "Btu*in/(h*ft^2*degF)": FLUX * INCH_M / KELVIN_PER_DEGF,
        "Btu/(h*ft*degF)": FLUX * FOOT_M / KELVIN_PER_DEGF,
    },
    "count": {},
    "density": {"kg/m^3": 1.0, "lb/ft^3": POUND_KG / FOOT_M**3},
    "eer": {"Btu/(W*h)": 1.0},
    "electricity": _ENERGY,
    "emissions_per_energy": {
        "kg/kWh": 1.0,
        "lb/kWh": POUND_KG,
        "kg/therm_US": 1 / THERM_US_KWH,
        "lb/therm_US": POUND_KG / THERM_US_KWH,
    },
    "energy_per_area": {
        "kWh/m^2": 1.0,
        "kWh/ft^2": 1 / FOOT_M**2,
        "kBtu/ft^2": 1e3 * BTU_KWH / FOOT_M**2,
    },
    "expansion": {"1/K": 1.0, "1/degF": 1 / KELVIN_PER_DEGF},
    "film": {"g/m^2": 1.0, "oz/ft^2": 1e3 * OUNCE_KG / FOOT_M**2},
    "flux": _FLUX,
    "fraction": _PLAIN,
    "gas_energy": _ENERGY,
    "heat_capacity": {
        "J/(m^2*K)": 1.0,
        "kJ/(m^2*K)": 1e3,
        "Btu/(ft^2*degF)": BTU_J / FOOT_M**2 / KELVIN_PER_DEGF,
    },
    "heat_energy": _ENERGY,
    "hours": {"h": 1.0},
    "length": _LENGTH,
    "mass": {"kg": 1.0, "lb": POUND_KG, "short_ton": SHORT_TON_KG, "tonne": 1e3},
    "mass_per_length": {"kg/m": 1.0, "lb/ft": POUND_KG / FOOT_M},
    "mass_per_area": {"kg/m^2": 1.0, "lb/ft^2": POUND_KG / FOOT_M**2},
    "moisture_flux": {"g/(m^2*day)": 1.0, "oz/(ft^2*day)": 1e3 * OUNCE_KG / FOOT_M**2},
    "money": {"$": 1.0},
    "number_per_area": {"1/m^2": 1.0, "1/ft^2": 1 / FOOT_M**2},
    "opening": {"mm^2/m^2": 1.0, "in^2/ft^2": 1e6 / 144},
    "point_resistance": {"K/W": 1.0, "h*degF/Btu": KELVIN_PER_DEGF / (BTU_J / 3600)},
    "power": {"kW": 1.0, "W": 1e-3, "Btu/h": BTU_J / KWH_J, "kBtu/h": 1e3 * BTU_J / KWH_J},
    "power_density": _FLUX,
    "price_of_gas": _ENERGY_PRICE,
    "price_per_area": {"$/m^2": 1.0, "$/ft^2": 1 / FOOT_M**2},
    "price_per_energy": _ENERGY_PRICE,
    "price_per_length": {"$/m": 1.0, "$/ft": 1 / FOOT_M},
    "price_per_mass": {
        "$/kg": 1.0,
        "$/lb": 1 / POUND_KG,
        "$/short_ton": 1 / SHORT_TON_KG,
        "$/tonne": 1e-3,
    },
    "price_per_power": {"$/kW": 1.0},
    "price_per_resistance": {
        "$/m^2 per m^2*K/W": 1.0,
        "$/ft^2 per h*ft^2*degF/Btu": FLUX / KELVIN_PER_DEGF / FOOT_M**2,
    },
    "price_per_volume": {
        "$/m^3": 1.0,
        "$/ft^3": 1 / FOOT_M**3,
        "$/(ft^2*in)": 1 / (FOOT_M**2 * INCH_M),
    },
    "rate": _PLAIN,
    "ratio": _PLAIN,
    "resistance": {"m^2*K/W": 1.0, "h*ft^2*degF/Btu": KELVIN_PER_DEGF / FLUX},
    "section": _AREA,
    "slope": {"%": 0.01, "in per 12 in": 1 / 12},
    "specific_heat": {"J/(kg*K)": 1.0, "Btu/(lb*degF)": BTU_J / POUND_KG / KELVIN_PER_DEGF},
    "speed": {"m/s": 1.0, "km/h": 1 / 3.6, "mph": 5280 * FOOT_M / 3600},
    "temperature": {"degC": 1.0, "degF": KELVIN_PER_DEGF, "K": 1.0},
    "temperature_difference": {"K": 1.0, "degC": 1.0, "degF": KELVIN_PER_DEGF},
    "thickness": _LENGTH,
    "u_value": {"W/(m^2*K)": 1.0, "Btu/(h*ft^2*degF)": FLUX / KELVIN_PER_DEGF},
    "volume": {"m^3": 1.0, "ft^3": FOOT_M**3},
    "years": {"y": 1.0, "year": 1.0, "years": 1.0},
}

# A reading counts from its scale's own zero: this number of the unit is 0 degC.
ZERO = {"degC": 0.0, "degF": 32.0, "K": 273.15}

# The unit of a bare number in "ip" where it is not the core's.
CUSTOMARY = {
    each["kind"]: each["customary"] for each in tables.words("quantity_kinds") if each["customary"]
}
# Kinds whose bare number is a plain number; "%" is a spelling for texts only.
UNITLESS = ("count", "fraction", "rate", "ratio")

# Other exact spellings of units above. "$/therm" is fixed as the US therm: the money is dollars.
ALIASES = {"sqft": "ft^2", "hr": "h", "MMBtu": "10^6 Btu", "USD": "$", "$/therm": "$/therm_US"}

# Trade names with two readings, and what to write in their place.
AMBIGUOUS = {
    each["text"]: tuple(each["meant"].split(" or ")) for each in tables.words("ambiguous_units")
}
