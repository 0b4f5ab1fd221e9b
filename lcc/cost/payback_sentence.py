"""The payback of an alternative, and the sentence that says it on page, paper and command line."""

from collections.abc import Iterator

from lcc.case.document_values import capital
from lcc.cost.payback_rule import NOTHING_TO_PAY_BACK, Course, course, never_pays_back
from lcc.cost.verdict import PairedComparison, is_moved
from lcc.cost.work import CAPITAL
from lcc.figures import chance
from lcc.results import AlternativeResult, Chances, Payback

# Where more of the draws than this never pay back, no year is called likely.
MOST = 0.5
# Likely years that take up more than this part of the study period are called any year.
WHOLE = 0.75
# How likely years begin that take up nearly the whole study period.
ANY = "could be any year"
SPREAD = "in random runs any year"  # of one that as entered does not
# For likely years that depend on what nobody knows of the roof.
FINDS = ", bad finds counted"
# Said of a last year that pays back by the residual value alone.
BY_WORTH = "by what the roof is worth then"


def payback_against(base: AlternativeResult, own: AlternativeResult) -> Payback:
    """Return when an alternative has made up for what it cost more, and say it.

    Parameters
    ----------
    base, own : AlternativeResult
        With the present value spent so far by year, and the draws where there are any.
    """
    run = course(base.cumulative_present_value, own.cumulative_present_value)
    draws = own.spread.against_base if own.spread else None
    years = len(own.cumulative_present_value) - 1
    reason = why_none(run, years)
    drawn = None if run.same else draws
    low, high, likely = likely_years(drawn, years)
    finds = FINDS * bool(drawn and is_moved(drawn.costs_less, drawn.costs_less_if_well))
    pair = PairedComparison(base, own)
    clear = "ahead by more than 2%" if pair.state == "too-close" else "clearly ahead"
    by_worth = pair.by_residual and run.year == years and not reason
    point = f"{_point(base, run, reason, clear)}{f', {BY_WORTH}' * by_worth}"
    return Payback(
        year=None if reason else run.year,
        reason=reason,
        clear_from=None if reason else run.clear_from,
        level_from=run.level[0] if run.level else None,
        level_to=run.level[1] if run.level else None,
        level_years=run.level_years,
        likely_low=low,
        likely_high=high,
        likely=f"{likely}{finds}",
        chance=draws.costs_less if draws else None,
        by_worth=by_worth,
        sentence=f"{point}{_joined(low, high, likely, drawn, reason)}{finds}.",
    )


def why_none(run: Course, years: int) -> str | None:
    """Return why there is no payback, None where there is one.

    Examples
    --------
    >>> why_none(course([0, 9, 9], [5, 8, 12]), 2)
    'ahead in year 1 only: a later cost leaves it behind at the end of year 2'
    """
    if run.same:
        return NOTHING_TO_PAY_BACK
    if run.year is not None:
        return None
    if not run.ahead_years:
        return never_pays_back(years)
    first, last = run.ahead_years[0], run.ahead_years[-1]
    spell = f"in year {first}" if first == last else f"at times between years {first} and {last}"
    return f"ahead {spell} only: a later cost leaves it behind at the end of year {years}"


def _year(value: float | None) -> int | None:
    return None if value is None else int(value)


def _point(base: AlternativeResult, run: Course, reason: str | None, clear: str) -> str:
    """Say how the costs so far run, without the draws; `clear` is what a lead of 2 % is called."""
    told = reason or "; ".join(_stages(base, run, clear))
    return capital(told)


def _stages(base: AlternativeResult, run: Course, clear: str) -> Iterator[str]:
    """Yield in order of time: level, no more spent from then on, ahead by more than 2 %."""
    year, last = run.year or 0, run.count - 1
    ahead = f"{clear} from year {run.clear_from}" if run.clear_from else "ahead from the first day"
    if run.level is None or run.level[1] + 1 != (run.clear_from or run.count):
        yield ahead
        return
    never = [f"has cost no more from year {year} on" if year else "never costs more"]
    never = never if year not in (run.clear_from, last) else []
    yield from never if run.level[0] >= year else []
    yield f"about level {_level(base, run, year)}"
    yield from never if run.level[0] < year else []
    yield ahead if run.clear_from else "ahead by less than 2% at the end"


def _level(base: AlternativeResult, run: Course, year: int) -> str:
    """Return the last years in a row in which both are level, in words."""
    first, last = run.level or (0, 0)
    if first == last:
        return f"in year {first}"
    end = last == run.count - 1
    if first in (0, year):
        return "to the end" if end else f"until year {last}"
    return f"from year {first}{_with_work(base, first)} to {'the end' if end else f'year {last}'}"


def _with_work(base: AlternativeResult, year: int) -> str:
    """Say that work of the base case makes both level, where it falls in that year."""
    due = any(event.year == year and event.category in CAPITAL for event in base.events)
    return f" (when “{base.name}” has its work)" if due else ""


def likely_years(draws: Chances | None, years: int) -> tuple[int | None, int | None, str]:
    """Return the years between which eight draws of ten pay back, and the same in words.

    Notes
    -----
    Where most draws never pay back there is no likely year: the first tenth of them would be
    the luckiest. Where they spread over nearly the whole study period of so many years, it could
    be any of them. Where more than one in ten never does, the last year is open, and it is said.
    """
    if draws is None:
        return None, None, ""
    low, high = _year(draws.payback_p10.value), _year(draws.payback_p90.value)
    never = 1 - draws.costs_less
    if low is None or never > MOST:
        return None, None, f"{of_hundred(never)} random runs never pay back"
    if (years if high is None else high) - low > WHOLE * years:
        until = f"on, in {of_hundred(never)} runs never" if high is None else f"to {high}"
        return None, None, f"{ANY} from {low} {until}"
    if high is None:
        return low, None, f"likely: year {low} or later, in {of_hundred(never)} random runs never"
    if low == high:
        return low, high, f"likely: year {low}"
    return low, high, f"likely: year {low} to {high}"


def of_hundred(share: float) -> str:
    """Return a part of random draws as runs of a hundred, never rounded to none or all.

    Examples
    --------
    >>> of_hundred(0.81), of_hundred(0.999), of_hundred(0.002), of_hundred(1.0)
    ('81 of 100', 'more than 99 of 100', 'less than 1 of 100', '100 of 100')
    """
    return f"{chance(share).removesuffix('%')} of 100"


def _joined(
    low: int | None, high: int | None, likely: str, draws: Chances | None, reason: str | None
) -> str:
    """Return the likely years as the end of a sentence, not as if it never paid back in them."""
    if draws is None:
        return ""
    never = of_hundred(1 - draws.costs_less)
    if low is None and not reason:
        return f"; but {likely.replace(ANY, f'this {ANY}')}"
    if low is None:
        return f"; {likely.replace(ANY, SPREAD)}"
    start = "in random runs: year" if reason else "likely in year"
    if high is None:
        rest = f"in {never} never" if reason else f"in {never} random runs it never pays back"
        return f"; {start} {low} or later, {rest}"
    if low == high:
        return f"; {start} {low}"
    return f"; {start} {low} to {high}" if reason else f"; likely between years {low} and {high}"
