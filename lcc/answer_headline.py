"""The answer in plain words, made from the figures: verdict, headline, explanation, certainty.

Point result, random draws and after-tax view are read together, so that no sentence says what
another figure denies; where they disagree, a sentence says so.
"""

from collections.abc import Collection, Iterator, Mapping, Sequence

from lcc.case.document_values import spoken
from lcc.cost.energy_phases import energy_by_start, first_work
from lcc.cost.payback_rule import NOTHING_TO_PAY_BACK
from lcc.cost.remarks import Remark, decisive
from lcc.cost.starting_year import begun_otherwise
from lcc.cost.verdict import LIKELY, UNLIKELY, PairedComparison
from lcc.disagreements import disagreements, draws_disagree, mostly, why_apart
from lcc.figures import CENTS, chance, in_years, more_or_less, said, shown
from lcc.results import AlternativeResult, Payback, Verdict, cheapest

LONGEST, NAMED = 180, 30  # letters of a headline, and of both names in it; common practice
LETTERS = 40  # of a name in a headline and on paper: it is the sentence that is signed by
# A residual value, and what the middle run adds, are spoken of from this part of the saving on; a
# residual value from the next first of all.
NOTABLE, NEARLY_ALL = 0.1, 0.8
_WORTH = "is the roof’s higher worth at the end, not money you get unless you sell"
MOST_APART = 3  # so many others have a sentence each; of more, those alike share one
# Energy below this part of all costs is about the same.
HARDLY = 0.001


def answer(
    results: Sequence[AlternativeResult],
    years: int,
    turned: str = "",
    unknown: Mapping[str, str] | None = None,
    rate: float = 0.0,
    conditions: Sequence[str] = (),
    remarks: Sequence[Remark] = (),
) -> Verdict:
    """Return the answer to a case: verdict, figures and words.

    Parameters
    ----------
    results : sequence of AlternativeResult
        The base case first, the others with their measures, paybacks, draws and break-evens.
    years : int
        Study period [years].
    turned : str
        What would turn the answer round, in words.
    unknown : mapping of str to str
        What nobody knows of the roof yet, and would cost money; the one alternative that it bears
        on, empty where it bears on more.
    rate : float
        Real discount rate [1/year].
    conditions : sequence of str
        What the answer takes for granted.
    remarks : sequence of Remark
        The conditions with what in them turns the answer, the worst first.

    Notes
    -----
    Of several alternatives the one of least life-cycle cost is set against the base case. It
    costs less (or more) where the point result is beyond 2 % of the larger cost, more than 65 %
    (less than 35 %) of the draws agree, and the after-tax view, where there is one, does not turn
    it round. Anything else is too close to call. Where less than 4 in 5 draws agree the headline
    says “probably”.
    """
    pair, unknown = PairedComparison(results[0], results[cheapest(results)]), unknown or {}
    turning = decisive(remarks, pair.own.name)
    likely = [one for one in remarks if one.likelier]
    why = (*reasons(results, pair, years, rate), *_counted(years, rate))
    sure = tuple(_certainty(pair, unknown))
    level = "Small changes of any figure decide between them."
    turned = level if abs(pair.saved) <= CENTS else turned
    return Verdict(
        state=pair.state,
        alternative=pair.own.name,
        saved=pair.saved,
        chance=pair.costs_less,
        headline=headline(
            pair,
            years,
            [(one.proviso, one.only_close) for one in turning],
            "".join(_more_likely(one.likelier, bool(turning)) for one in likely),
        ),
        explanation=" ".join((*why, *sure, *([turned] if turned else []))),
        conditions=tuple(conditions),
        reasons=why,
        certainty=sure,
        disagreements=tuple(disagreements(pair, years, unknown)),
        runs_assume=" and ".join(dict.fromkeys(one.assumed for one in (*turning, *likely))),
    )


def headline(
    pair: PairedComparison,
    years: int,
    provisos: Sequence[tuple[str, bool]] = (),
    likelier: str = "",
) -> str:
    """Return the verdict in one sentence, its names whole but for very long ones.

    Parameters
    ----------
    pair : PairedComparison
        The two that are set against each other.
    years : int
        Study period [years].
    provisos : sequence of (str, bool)
        What would turn the verdict and is no figure, the worst first; whether it makes it too
        close to call.
    likelier : str
        What is likelier than the prices as read, with the difference then.
    """
    which = "it" if pair.saved > 0 else "the other"
    left = f", but only by what {which} is worth at the end" * pair.by_residual
    own, base = (_short(each.name) for each in (pair.own, pair.base))
    most = LONGEST + max(0, len(own) + len(base) - NAMED)
    told = ""
    # Whatever is left out of a sentence too long to grasp is said by the remarks below.
    for more, beside, worth in (
        (likelier, not likelier, left), ("", True, left), ("", False, left), ("", False, "")
    ):  # fmt: skip
        end = _leaning(pair, own) if pair.level else f"{worth}{_unless(provisos, beside)}"
        told = f"{_verdict(pair, own, base, f'over {in_years(years)}', end).rstrip('.')}{more}."
        if len(told) <= most:
            break
    return told


def _verdict(pair: PairedComparison, own: str, base: str, over: str, end: str) -> str:
    probably = "probably " * pair.probable
    point = f"{own} {probably}costs about {more_or_less(pair.saved)} than {base}"
    if pair.state != "too-close":
        return f"{point} {over}{_taxed(pair, own)}{end}."
    if pair.level:
        same = f"{own} and {base} cost about the same {over}{_taxed(pair, own)}{end}."
        return f"As entered, {same}" if end else f"Too close to call: {same}"
    if pair.tax_decides:
        taxed = more_or_less(pair.after_tax or 0.0)
        return f"Tax decides: {point} before tax, but about {taxed} after tax."
    often = pair.costs_less or 0.0
    way, runs = mostly(often)
    entered = f"as entered, about {more_or_less(pair.saved)}"
    return (
        f"Too close to call: {own} costs {way} than {base} in {runs}; {entered}{_taxed(pair, own)}."
    )


def _leaning(pair: PairedComparison, own: str) -> str:
    """Return how often the first of two that are level costs less, where draws lean one way."""
    often = pair.costs_less
    if often is None or UNLIKELY <= often <= LIKELY:
        return ""
    return f", but {own} costs {' in '.join(mostly(often))}"


def _taxed(pair: PairedComparison, own: str) -> str:
    """Return what is left of the difference after tax, nothing where no tax is entered."""
    if pair.after_tax is None:
        same = pair.level_after_tax and not pair.level
        return " before tax, and about the same after tax" * same
    if pair.level:
        return f" before tax; after tax {own} costs about {more_or_less(pair.after_tax)}"
    return f" (about {said(abs(pair.after_tax))} after tax)"


def _unless(provisos: Sequence[tuple[str, bool]], beside: bool) -> str:
    """Return the first thing that turns the verdict, and how many more the page names below.

    How many, and that it is then too close, is said only `beside` it.
    """
    if not provisos:
        return ""
    (first, close), more = provisos[0], len(provisos) - 1
    then = "then too close to call" if close else ""
    below = f"{more} more reason{'s' * (more > 1)} below" if more else ""
    told = "; ".join(filter(None, (then, below))) * beside
    return f", unless {first}{f' ({told})' if told else ''}"


def _more_likely(likelier: Sequence[str], beside_others: bool) -> str:
    """Return the answer at likelier prices; its condition stands below where another is said."""
    then, condition = likelier
    return f"; more likely {then} ({'see below' if beside_others else f'if {condition}'})"


def _short(name: str) -> str:
    return f"“{name}”" if len(name) <= LETTERS else f"“{name[: LETTERS - 1].rstrip()}…”"


def reasons(
    results: Sequence[AlternativeResult], pair: PairedComparison, years: int, rate: float
) -> Iterator[str]:
    """Yield the sentences that say why, in the order in which they are read."""
    saves = pair.saved > 0 and not pair.level
    if saves and NEARLY_ALL * pair.saved <= pair.worth <= pair.saved:
        yield (
            f"Nearly all of the saving, about {said(pair.worth)} of {said(pair.saved)}, {_WORTH}."
        )
    yield _today(pair)
    if pair.own.payback:
        yield _with_subject(pair.own.payback)
    yield _shares(pair)
    least = max(NOTABLE * abs(pair.energy), HARDLY * pair.base.life_cycle_cost)
    yield from energy_by_start(pair.base, pair.own, rate, least)
    yield from _after_tax(pair)
    if pair.own.financed:
        yield pair.own.financed.sentence
    begun = pair.own.starting_years
    told = begun is None or begun.advice or begun_otherwise(pair.base, pair.own)
    if begun and begun.best_year and not told:
        yield begun.sentence
    yield from _ends_with_the_period(pair, years)
    yield from _others(results, pair)


def _with_subject(payback: Payback) -> str:
    """Make a payback's words, which stand beside a name, into a sentence of their own."""
    sentence = payback.sentence
    if payback.reason == NOTHING_TO_PAY_BACK:
        return sentence
    verb = "" if sentence.startswith(("Never", "Has")) else "is "
    return f"Adding up all that is spent so far, in today's money, it {verb}{spoken(sentence)}"


def _after_tax(pair: PairedComparison) -> Iterator[str]:
    """Say the difference after income tax where it agrees; else it is a disagreement."""
    if pair.after_tax is not None and not pair.level and (pair.after_tax > 0) == (pair.saved > 0):
        yield f"After income tax it costs about {more_or_less(pair.after_tax)}."


def _today(pair: PairedComparison) -> str:
    if abs(pair.extra) <= CENTS:
        return f"“{pair.own.name}” costs the same today."
    (due, cost), later = first_work(pair.base), ""
    if due and cost and first_work(pair.own)[0] == 0:
        later = f"; the work of “{pair.base.name}” comes in year {due}, at about {said(cost)}"
    return f"“{pair.own.name}” costs about {more_or_less(-pair.extra)} today{later}."


def _shares(pair: PairedComparison) -> str:
    energy, work = pair.energy, pair.saved - pair.energy
    most = max(abs(pair.base.life_cycle_cost), abs(pair.own.life_cycle_cost))
    counts = abs(energy) > max(CENTS, HARDLY * most)
    if counts and energy > 0 and work > CENTS:
        return _both(pair, energy, work)
    if counts and energy > 0:
        spent = f", but its work costs about {said(-work)} more" if work < -CENTS else ""
        return f"It saves about {said(energy)} of energy{spent}."
    more = f"Energy costs {'about ' * (abs(energy) > CENTS)}the same"
    if counts:
        more = f"Energy costs about {said(-energy)} more with it"
    if abs(work) <= CENTS:
        return f"{more}."
    return f"{more}; roofing work and repairs cost about {more_or_less(work)}."


def _both(pair: PairedComparison, energy: float, work: float) -> str:
    if pair.level:
        return f"It saves about {said(energy)} of energy and {said(work)} of roofing work."
    if pair.by_residual and work < pair.worth:
        return (
            f"It saves about {said(energy)} of energy, but its work and repairs cost about "
            f"{said(pair.worth - work)} more; the roof’s higher worth at the end, about "
            f"{said(pair.worth)}, makes up for that. You do not get that money unless you sell."
        )
    part = 100 * energy / pair.saved
    left = ""
    if NOTABLE * pair.saved < pair.worth < NEARLY_ALL * pair.saved:
        left = f"; about {said(pair.worth)} of that {_WORTH}"
    return (
        f"Of the saving, {part:.0f}% is energy and {100 - part:.0f}% is lower cost of roofing work "
        f"and repairs{left}."
    )


def _ends_with_the_period(pair: PairedComparison, years: int) -> Iterator[str]:
    """Name a life that ends as the study period does, because the result depends on that year."""
    worn = [
        f"“{each.name}”"
        for each in (pair.base, pair.own)
        if each.last_life_ends is not None and abs(each.last_life_ends - years) <= 1
    ]
    if worn:
        yield (
            f"The next roof of {' and of '.join(worn)} comes at about year {years}, when the years "
            "counted end: if it comes sooner, the result has its cost too."
        )


def _counted(years: int, rate: float) -> Iterator[str]:
    """Say that money of later years is discounted, by an example."""
    year = min(20, years)
    if rate:
        cents = 100 / (1 + rate) ** year
        yield (
            "Sums over the years are in today's money, at a discount rate of "
            f"{shown(rate, 'rate')} a year above inflation: a dollar spent in year {year} counts "
            f"as {cents:.0f} cents. The price of a single job is what it costs in today's "
            "prices."
        )


def _others(results: Sequence[AlternativeResult], pair: PairedComparison) -> Iterator[str]:
    others = [PairedComparison(pair.base, each) for each in results[1:] if each is not pair.own]
    alike: dict[str, list[PairedComparison]] = {}
    for one in sorted(others, key=lambda one: one.own.life_cycle_cost):
        apart = len(others) <= MOST_APART
        alike.setdefault(one.own.name if apart else _way(one), []).append(one)
    if others:
        yield f"Also against “{pair.base.name}”: {'; '.join(map(_other, alike.values()))}."


def _other(alike: Sequence[PairedComparison]) -> str:
    """Say what alternatives that come out alike cost, the cheapest first."""
    first, last = alike[0], alike[-1]
    cost = f"“{first.own.name}” costs"
    if len(alike) > 1:
        cost = f"{len(alike)}, from “{first.own.name}” to “{last.own.name}”, cost"
    ends = dict.fromkeys(said(abs(one.saved)) for one in (first, last))
    return f"{cost} about {_way(first).format(' to '.join(ends))}"


def _way(pair: PairedComparison) -> str:
    close = ", too close to call" if pair.state == "too-close" else ""
    return "the same" if pair.level else f"{{}} {'less' if pair.saved > 0 else 'more'}{close}"


def _certainty(pair: PairedComparison, unknown: Mapping[str, str]) -> Iterator[str]:
    """Yield how sure the answer is: what is not known, what the draws say, what they leave open."""
    yield from _unknown(pair, unknown)
    drawn = list(certainty(pair.own))
    probably = "“Probably”, because fewer than 4 in 5 runs say so."
    if pair.costs_less is not None and pair.costs_less < 0.5:
        probably = "“Probably”, because fewer than 4 in 5 runs say that it costs more."
    yield from (*drawn[:1], *[probably] * pair.probable, *_middle(pair, unknown), *drawn[1:])
    if pair.state == "too-close" and not pair.tax_decides:
        yield "Money alone does not decide between the two."


def _unknown(pair: PairedComparison, unknown: Mapping[str, str]) -> Iterator[str]:
    """Say what nobody has looked at, and that the figures as entered count nothing for it."""
    if unknown:
        listed = "; ".join(f"{spoken(each)}{f' (under “{name}” alone)' * bool(name)}"
                           for each, name in unknown.items())  # fmt: skip
        wet = ", just over a quarter wet" if "wet insulation" in listed else ""
        drawn = f"; the random runs count from nothing to the worst case{wet}" * bool(
            pair.own.spread
        )
        yield f"Not known yet: {listed}. The figures as entered count nothing for it{drawn}."


def _middle(pair: PairedComparison, unknown: Collection[str]) -> Iterator[str]:
    """Set the middle run beside the figure as entered, unless a disagreement has done so."""
    drawn = pair.own.spread.against_base if pair.own.spread else None
    if drawn is None or any(draws_disagree(pair, unknown)):
        return
    middle, entered = _saved(drawn.net_savings.p50), _saved(pair.saved)
    differ = unknown and abs(drawn.net_savings.p50 - pair.saved) > NOTABLE * abs(pair.saved)
    apart = f", not {entered} as entered{why_apart(unknown)}" if differ else ""
    yield f"The middle run comes out {middle}{apart}."


def certainty(best: AlternativeResult) -> Iterator[str]:
    """Yield what the random draws say of an alternative, nothing where none were made.

    Parameters
    ----------
    best : AlternativeResult
        The alternative that is spoken of.
    """
    spread = best.spread
    if spread is None or spread.against_base is None:
        return
    drawn, net = spread.against_base, spread.against_base.net_savings
    told = {0.0: "none", 1.0: "every one"}
    often = told.get(drawn.costs_less) or chance(drawn.costs_less)
    before = "Before tax, and with" if best.after_tax else "With"
    yield (
        f"{before} the uncertain figures varied at random {spread.draws:,} times, “{best.name}” "
        f"costs less in {often} of these runs; in eight of ten it comes out between "
        f"{_saved(net.p10)} and {_saved(net.p90)}."
    )
    worst = "still saves" if drawn.worst_tenth >= 0 else "loses"
    yield f"In the worst 1 run in 10 it {worst} about {said(abs(drawn.worst_tenth))} on average."
    *others, last = spread.not_drawn
    yield f"Not varied: {', '.join(others)} and {last}."


def _saved(amount: float) -> str:
    return f"about {said(abs(amount))} {'ahead' if amount >= 0 else 'behind'}"
