"""The page of the evidence: our figures beside those of others, by kind of evidence."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from typing import Any

from lcc import tables, units
from lcc.checks.run import (
    Check,
    Tally,
    kept_figures,
    largest_sources,
    measured_roofs,
    run_checks,
    tallies,
)
from lcc.units import System
from web import format as fmt

STRONG = ("published", "measured")

KEPT = (
    "Computed just now, but for {count} figures of whole years: they were computed when this "
    "version was made, and are shown from its record."
)
PROVES = (
    "The formulas of this program give most of the figures that others print for the same inputs. "
    "Each figure that they do not give is listed, with the reason. Many are simple: sums of "
    "resistances, interest factors. Degree days are of other years than ours.",
    "Its fast solution of a year agrees with a slow one of the same equations in all 216 figures "
    "compared. Both read the same layers, weather, films and space.",
)
NOT_PROVEN = (
    "That your roof will behave so: workmanship, weather and use differ from what is entered.",
    "That the prices are right: a price marked demo is invented.",
    "That the weather will be that of the built-in typical years, which are drawn from 1976 to "
    "2005: later years are warmer.",
    "That a whole building's saving is met: of five buildings measured under a dark and a light "
    "roof, ours is within a quarter for two, one with a peak 40% over. For three it is a third to "
    "two thirds too low at the insulation assumed, and our ranges do not hold theirs. To meet "
    "them takes two to four inputs at the ends of their ranges, such as the least insulation, a "
    "plant that never rests or old zinc of emittance 0.20. When it was made light "
    "in color, a roof in Austin cooled down less than ours does and two in California more, so no "
    "one change to the film of air mends them all: what nobody reported may be the cause, and so "
    "may the model.",
)

# How the name of a quantity ends, and the kind of its unit; others have one unit everywhere.
_KINDS = (
    ("_kj_m2k", "", "kJ/m²K"),
    ("_kwh_m2", "energy_per_area", ""),
    ("wh_m2_day", "", "Wh/m² a day"),
    ("day_shop", "", "kWh/day"),
    ("_w_m2k", "u_value", ""),
    ("_m2k_w", "resistance", ""),
    ("surface_k", "", "K"),
    ("_k", "temperature_difference", ""),
    ("_c", "temperature", ""),
    ("_pa", "", "Pa"),
    ("_kg_kwh", "emissions_per_energy", ""),
    ("kg_kwh", "emissions_per_energy", ""),
    ("_kwh_day", "", "kWh/day"),
    ("_kd", "", "K·d"),
    ("_deg", "", "°"),
    ("_w_m2", "", "W/m²"),
    ("_kw", "", "kW"),
    ("percent", "", "%"),
    ("lead_h", "", "h"),
    ("_lag_h", "", "h"),
    ("life_y", "", "years"),
    ("rise_in", "", "in 12"),
    ("r_ip", "", "h·ft²·°F/Btu"),
    ("lb_kwh", "", "lb/kWh"),
    ("travel_m", "thickness", ""),
    ("_m", "length", ""),
)


@dataclass(frozen=True)
class CheckLine:
    """One check as text."""

    what: str
    unit: str
    theirs: str
    ours: str
    difference: str
    tolerance: str
    why: str
    verdict: str  # whether it is within its tolerance, or why not
    drawn: str  # our range over what is not known, empty without one
    source: str
    kind: str
    passed: bool | None  # None where it is not computed


@dataclass(frozen=True)
class Evidence:
    """Every check, and how many there are of each kind, the strongest first.

    `kept` says which figures were taken from the record, "" if all were computed now. `buildings`
    are the inputs of the measured buildings.
    """

    system: System
    kinds: tuple[Tally, ...]
    lines: tuple[CheckLine, ...]
    headline: str
    sources: str
    kept: str
    measured: str
    buildings: tuple[dict[str, Any], ...] = ()
    proves: tuple[str, ...] = PROVES
    not_proven: tuple[str, ...] = NOT_PROVEN


@cache
def evidence(live: bool, system: System = "ip") -> Evidence:
    """Return the checks, computed once in this process by the product's own functions.

    Parameters
    ----------
    live : bool
        Whether the figures of whole years are computed too, which takes half a minute, or taken
        from the record that was kept of them.
    system : {"ip", "si"}
        Units in which figures are shown.
    """
    done = run_checks(kept=not live)
    return Evidence(
        system,
        tallies(done),
        tuple(line(one, system) for one in done),
        headline(tallies(done)),
        sources(done),
        "" if live else KEPT.format(count=len(kept_figures())),
        measured(done),
        tuple(tables.rows("field_inputs").values()),
    )


def sources(done: Sequence[Check]) -> str:
    """Return, in a sentence, how many of the published figures come from few works."""
    works = largest_sources(done, "published")
    named = "; ".join(f"{count} from the {work}" for work, count in works[:2])
    rest = sum(count for _, count in works[2:])
    read = sum(one.kind == one.basis == "published" and one.passed is not None for one in done)
    every = rest + sum(count for _, count in works[:2])
    return (
        f"Of the {every} published figures computed, {named}; {rest} from {len(works) - 2} other "
        f"works. {read} were read at the source, {every - read} in a copy."
    )


def measured(done: Sequence[Check]) -> str:
    """Return, in a sentence, how near ours comes to what was measured on roofs."""
    (warm, temperatures), (alike, others, low) = measured_roofs(done)
    return (
        f"On measured roofs {warm} of {temperatures} temperatures are met within 5 K (9 °F), and "
        f"{alike} of {others} figures of energy, demand and heat within a quarter; of the "
        f"other {others - alike}, {low} are too low. Each row that is outside its own tolerance "
        "says what is not known."
    )


def headline(counted: tuple[Tally, ...]) -> str:
    """Return what the strong kinds of evidence come to, in a sentence.

    Examples
    --------
    >>> headline((Tally("published", 190, 3, 0), Tally("measured", 6, 2, 0)))
    '190 of 193 published figures and 6 of 8 measurements are met'
    """
    published, measured = (next(one for one in counted if one.kind == kind) for kind in STRONG)
    return (
        f"{published.within} of {published.computed} published figures and "
        f"{measured.within} of {measured.computed} measurements are met"
    )


def line(check: Check, system: System) -> CheckLine:
    """Return a check as text in one system of units, rounded as its source is printed.

    Ours has a digit more where it is outside, lest both read the same.
    """
    kind, unit = _unit(check.quantity, system)
    theirs = _in(check.expected, kind, system)
    decimals = _decimals(theirs, check)
    ours = None if check.ours is None else _in(check.ours, kind, system)
    reason = check.reason or "computed"
    marks = [check.basis, *([f"printed there as {check.printed}"] if check.printed else [])]
    return CheckLine(
        check.what,
        unit,
        _fixed(theirs, decimals),
        fmt.NOTHING if ours is None else _fixed(ours, decimals + (check.passed is False)),
        _apart(check.difference, check, kind, system),
        _apart(check.tolerance, check, kind, system),
        check.why,
        {True: "within", False: f"outside: {reason}", None: reason}[check.passed],
        _range(check, kind, system, decimals),
        f"{check.source} ({'; '.join(marks)})",
        check.kind,
        check.passed,
    )


def _range(check: Check, kind: str, system: System, decimals: int) -> str:
    """Give our range over unknown inputs, and say whether the measured value lies in it."""
    if check.low is None or check.high is None:
        return ""
    low, high = (_fixed(_in(each, kind, system), decimals) for each in (check.low, check.high))
    held = "holds" if check.low <= check.expected <= check.high else "does not hold"
    return f". Over what is not known of the building ours is {low} to {high}, which {held} theirs"


def _unit(quantity: str, system: System) -> tuple[str, str]:
    for ending, kind, fixed in _KINDS:
        if quantity.endswith(ending):
            return kind, units.unit(kind, system).display if kind else fixed
    return "", ""


def _in(value: float, kind: str, system: System) -> float:
    return units.from_core(value, kind, system) if kind else value


def _decimals(theirs: float, check: Check) -> int:
    """Return the decimals that the source's digits are; of a 0, two."""
    return max(check.digits - 1 - math.floor(math.log10(abs(theirs))), 0) if theirs else 2


def _fixed(value: float, decimals: int) -> str:
    return f"{value:,.{decimals}f}".replace("-", fmt.MINUS)


def _apart(value: float | None, check: Check, kind: str, system: System) -> str:
    if value is None:
        return fmt.NOTHING
    if not check.relative:
        value = _in(value, {"temperature": "temperature_difference"}.get(kind, kind), system)
    figure = float(f"{100 * value if check.relative else value:.2g}")
    text = f"{figure:.10f}".rstrip("0").rstrip(".") + ("%" if check.relative else "")
    return text.replace("-", fmt.MINUS)
