"""An owner's records of a roof beside its build: condition, leaks, regional prices."""

from collections.abc import Iterable, Mapping
from dataclasses import replace
from typing import Any, TypeVar

from lcc.case import Alternative, Case, Coating, DutyPrices, MetalRetrofit, Roof
from lcc.case.fields import CasePart, Choice, Facts, Origin, Quantity, Text, facts_of, known
from lcc.case.resolution import resolve
from lcc.case.roof import LEAK_COST
from lcc.cost.coating import refusal

Part = TypeVar("Part", bound=CasePart)
# Years that a covering has left by its condition: at least, at most. Common practice of roof
# surveys, which rate a roof by when it will need replacing.
LIFE_LEFT_Y: dict[str, tuple[float, float]] = {
    "good": (5.0, 100.0),
    "fair": (2.0, 7.0),
    "poor": (0.0, 2.0),
    "failed": (0.0, 0.0),
}
PATCHING_PER_M2 = 5.4  # a year; demo, invented
LEAK_DAMAGE_PER_M2 = 8.0  # a year; demo, invented
MUST_DO, MUST_NOT = "must-do", "must-not"
MUST_BY = {f"{MUST_DO}-by-{year}": year for year in range(10)}
TO_DO = (MUST_DO, *MUST_BY)
NOT_BEFORE = {f"not-before-{year}": year for year in range(1, 10)}
MUST = (MUST_DO, MUST_NOT, *MUST_BY, *NOT_BEFORE)
_INVENTED = "invented; replace by the owner's records"
_WORK_PRICES = (
    "tear_off_per_m2", "disposal_per_kg", "insulation_per_m2", "unit_lift", "disruption_per_m2",
)  # fmt: skip
_DUTY_PRICES = tuple(name for name in facts_of(DutyPrices) if not name.endswith(("_rate", "_days")))
_FACTORED = (
    "price_per_m2", "repairs_per_m2", "upkeep_per_m2", "service_per_m2", "finish_per_m2",
)  # fmt: skip
_MEMBRANE = ("price_per_m2", "repairs_per_m2")

# The columns, by name; those of identity say nothing of cost.
IDENTITY: dict[str, Facts] = {
    "owner_id": Text("The owner's own number of the roof", help="Kept beside every result."),
    "building_name": Text("Building", help="That the roof is on; several roofs may share one."),
    "campus": Text("Campus", help="Or school, district, region: results are added up by it."),
    "assumed": Text("What the table did not say of what every roof needs, and was assumed"),
    "must": Choice(
        "Must or must not", MUST,
        help="must-do: work within the plan. must-do-by-2: work begun by year 2 of the plan, "
        "whose first year is 0. must-not: no work but patching within the plan. not-before-2: no "
        "work but patching before year 2 of the plan.",
    ),
}  # fmt: skip
RECORDS: dict[str, Facts] = {
    "condition": Choice(
        "Condition", tuple(LIFE_LEFT_Y), when_unset="from age and service life",
        help="As surveyed; bounds the years left: good 5 or more, fair 2 to 7, poor 2 at most, "
        "failed none (common practice).",
    ),
    "leaks": Quantity(
        "count", "Leaks a year", low=0, high=1000, when_unset="none, only the usual repairs",
        help=f"Each costs ${LEAK_COST:,.0f} to find and repair with what it wets (demo, "
        "invented), every year until the roof is renewed.",
    ),
    "warranty_left": Quantity(
        "years", "Years of warranty left", low=0, high=50, when_unset="no warranty",
        help="While it runs, its maker pays for patching. Work on the roof may end it.",
    ),
    "price_factor": Quantity(
        "ratio", "Regional price factor", low=0.3, high=4, when_unset="1",
        help="On all roofing prices but those that the row gives itself.",
    ),
    "patching": Quantity(
        "price_per_area", "Patching a year past due", low=0, high=500, basis="demo",
        source=_INVENTED, when_unset=f"${PATCHING_PER_M2:g}/m² ($0.50/ft²)",
        help="What keeps a roof going for each year that it waits past the year it falls due.",
    ),
    "leak_damage": Quantity(
        "price_per_area", "Leak damage a year past due", low=0, high=1000, basis="demo",
        source=_INVENTED, when_unset=f"${LEAK_DAMAGE_PER_M2:g}/m² ($0.74/ft²)",
        help="Damage inside to expect in each such year, with patching done.",
    ),
}  # fmt: skip


def with_records(case: Case, row: Mapping[str, Any]) -> Case:
    """Return a building's case with what its condition, leaks and price factor change.

    Parameters
    ----------
    case : Case
        The case without them.
    row : mapping
        The building's values by attribute, None or absent where the records say nothing.
    """
    roof = case.roof
    if row.get("condition") and row.get("remaining_life_y") is None:
        left = years_left(roof, str(row["condition"]))
        roof = roof.filled(remaining_life_y=(left, _SURVEYED))
    roof = roof.with_leaks(row.get("leaks"))
    case = replace(case, roof=roof) if roof is not case.roof else case
    factor = row.get("price_factor")
    return case if factor is None else _priced(case, row, float(factor))


_SURVEYED = Origin("common practice", "by age, within the years of its surveyed condition")


def without_refused_coatings(case: Case) -> tuple[Case, str | None]:
    """Return a case without the coatings that its roof refuses, and which they are and why.

    Where nothing else is compared the case stays, and its comparison says why it fails.
    """
    roof = resolve(case.roof)
    why = refusal(roof, known(roof.remaining_life_y))
    kept = tuple(each for each in case.alternatives if not isinstance(each, Coating))
    if why is None or not kept or len(kept) == len(case.alternatives):
        return case, None
    names = ", ".join(each.name for each in case.alternatives if isinstance(each, Coating))
    return replace(case, alternatives=kept), f"{names}: no coating on this roof: {why}"


def years_left(roof: Roof, condition: str) -> float:
    """Return the years that a covering has left: by its age, within those of its condition.

    Examples
    --------
    A covering that has failed has none left, whatever its age.

    >>> from lcc.portfolio.rows import template
    >>> years_left(template().roof, "failed")
    0.0
    """
    by_age = known(resolve(replace(roof, remaining_life_y=None)).remaining_life_y)
    low, high = LIFE_LEFT_Y[condition]
    return min(max(by_age, low), high)


def _priced(case: Case, row: Mapping[str, Any], factor: float) -> Case:
    """Return a case with its roofing prices raised, but for those that the row gives itself."""
    own_base, own_retrofit = (
        row.get(name) is not None for name in ("new_covering_price_per_m2", "retrofit_price_per_m2")
    )
    own_repairs = row.get("repairs_per_m2") is not None
    return replace(
        case,
        prices=replace(
            _raised(case.prices, _WORK_PRICES, factor),
            duties=_raised(case.prices.duties, _DUTY_PRICES, factor),
        ),
        roof=case.roof if own_repairs else _raised(case.roof, ("repairs_per_m2",), factor),
        base_case=_choice(case.base_case, factor, own_base),
        alternatives=tuple(
            _choice(one, factor, own_retrofit and isinstance(one, MetalRetrofit))
            for one in case.alternatives
        ),
    )


def _choice(choice: Alternative, factor: float, own_price: bool) -> Alternative:
    # The quantities price a surveyed frame, and have a factor of their own; quotations are local.
    framed = getattr(choice, "framing", None) is not None and choice.price_per_m2 is None
    names = [name for name in _FACTORED if hasattr(choice, name)]
    if own_price or framed or choice.quotations:
        names.remove("price_per_m2")
    raised = _raised(choice, names, factor)
    if isinstance(raised, Coating):
        return replace(raised, replacement=_raised(raised.replacement, _MEMBRANE, factor))
    return raised


def _raised(part: Part, names: Iterable[str], factor: float) -> Part:
    """Return a part with some prices raised, those of its table where they are unset."""
    whole = resolve(part)
    figures = {}
    for name in names:
        origin = whole.origin(name)
        source = f"{origin.source}, times the regional price factor {factor:g}"
        figures[name] = (getattr(whole, name) * factor, Origin(origin.basis, source))
    return part.filled(**figures)
