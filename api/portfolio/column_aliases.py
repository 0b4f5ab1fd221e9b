"""Other titles of the columns: the right name is suggested, never assumed."""

from __future__ import annotations

# Column -> titles that mean it, as `headers.plain` returns them, without their unit.
_OTHERS: dict[str, tuple[str, ...]] = {
    "name": (
        "building", "facility", "facility_name", "property", "roof", "roof_name", "site",
        "site_name", "asset", "school", "store", "section", "roof_section", "property_name",
    ),
    "owner_id": (
        "id", "building_id", "roof_id", "asset_id", "facility_id", "asset_number", "number",
        "property_id", "roof_number", "building_number", "tag",
    ),
    "building_name": ("bldg", "bldg_name", "parent_building", "on_building"),
    "campus": ("group", "district", "region", "department", "agency", "portfolio", "complex"),
    "assumed": ("assumptions",),
    "must": ("priority", "must_do", "mandate"),
    "condition": (
        "roof_condition", "cond", "roof_cond", "rating", "condition_rating", "state", "grade",
    ),
    "leaks": (
        "leaks_a_year", "leak_count", "number_of_leaks", "leaks_per_year", "leaks_last_year",
        "leak_calls", "leak_reports",
    ),
    "warranty_left": ("warranty", "warranty_remaining", "warranty_years_left", "years_of_warranty"),
    "price_factor": ("location_factor", "cost_factor", "regional_factor", "city_cost_index"),
    "patching": ("patching_cost", "emergency_repairs"),
    "leak_damage": ("damage", "water_damage", "leak_cost"),
    "climate": ("city", "location", "place", "town", "address", "city_state", "weather", "station"),
    "roof_area": (
        "area", "sq_ft", "sqft", "square_feet", "square_footage", "size", "roof_size", "sq_m",
        "square_metres", "square_meters", "gross_area",
    ),
    "roof_type": ("deck", "deck_type", "roof_deck", "construction", "roof_construction"),
    "covering": (
        "existing_roof", "existing_covering", "existing_membrane", "membrane", "membrane_type",
        "roof_covering", "roof_system", "type_of_roof", "roofing", "material",
        "roof_material", "system",
    ),
    "age": ("roof_age", "age_of_roof", "covering_age", "years_old", "age_yrs", "age_in_years"),
    "coverings_in_place": (
        "layers", "number_of_layers", "roof_layers", "coverings", "membranes", "no_of_roofs",
    ),
    "remaining_life": ("remaining_years", "years_left", "remaining_service_life", "life_left"),
    "insulation": (
        "insul", "r_value", "r", "existing_r_value", "insulation_r_value", "r_value_existing",
    ),
    "wet_fraction": (
        "wet", "wet_insulation", "wet_area", "moisture", "percent_wet", "wet_insulation_share",
    ),
    "rooftop_units": ("rtu", "rtus", "hvac_units", "units", "roof_top_units", "number_of_rtus"),
    "repairs": ("repair_cost", "repair_costs", "maintenance", "maintenance_cost", "annual_repairs"),
    "use": ("building_use", "building_type", "occupancy", "type", "function", "use_type"),
    "storeys": ("stories", "floors", "flrs", "number_of_floors", "levels", "number_of_stories"),
    "storey_height": ("height", "ceiling_height", "floor_height", "story_height"),
    "cooling_eer": ("eer", "cooling_efficiency", "ac_efficiency"),
    "heating": ("heating_type", "heating_fuel", "heat", "heating_system", "fuel"),
    "heating_efficiency": ("afue", "furnace_efficiency", "boiler_efficiency", "cop"),
    "electricity_price": (
        "electricity", "electric_rate", "electricity_rate", "electricity_cost", "power_price",
        "electric_price", "kwh_rate",
    ),
    "demand_charge": ("demand", "demand_rate", "demand_price"),
    "gas_price": ("gas", "gas_rate", "gas_cost", "natural_gas", "natural_gas_price"),
    "new_covering": ("new_membrane", "new_roof", "replacement", "replacement_membrane"),
    "new_covering_price": (
        "reroofing_cost", "re_roofing_cost", "replacement_cost", "replacement_price",
        "new_roof_price", "new_roof_cost", "membrane_price",
    ),
    "retrofit_price": ("metal_price", "retrofit_cost", "metal_roof_price", "metal_retrofit_price"),
    "panel": ("metal_panel", "panel_type", "panel_finish", "finish"),
    "length_to_width": ("aspect_ratio", "plan_ratio", "length_width_ratio"),
}  # fmt: skip
_COLUMN = {title: column for column, titles in _OTHERS.items() for title in titles}
# Titles of a year or a day, whose columns hold no age.
_YEARS = (
    "year", "year_installed", "installed", "install_year", "install_date", "date_installed",
    "installation_date", "installation_year", "year_built", "year_of_roof", "roof_year",
    "last_reroofed", "year_of_installation", "date",
)  # fmt: skip
AGE_TOLD = "name it age and give the years since then, not the year or date"


def meant(name: str) -> tuple[str, str]:
    """Return the column that a title means, and what else its title says, such as its unit.

    Parameters
    ----------
    name : str
        As `api.portfolio.reading.headers.plain` returns it.

    Examples
    --------
    >>> meant("city"), meant("gas_per_therm"), meant("notes")
    (('climate', ''), ('gas_price', 'per_therm'), ('', ''))
    """
    if name in _COLUMN:
        return _COLUMN[name], ""
    stems = [
        stem
        for stem, column in _COLUMN.items()
        if name.startswith(f"{stem}_") and len(stem) > 2 and column != "name"
    ]
    if not stems:
        return "", ""
    longest = max(stems, key=len)
    return _COLUMN[longest], name[len(longest) + 1 :]


def tells_a_year(name: str) -> bool:
    """Tell whether a title is that of a year or a day."""
    return name in _YEARS
