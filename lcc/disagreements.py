"""Views of the answer that do not agree with its point result: draws, tax, payments, bad finds."""

from collections.abc import Collection, Iterator
from math import fsum

from lcc.case.document_values import spoken
from lcc.cost.levers import NOT_KNOWN
from lcc.cost.payback_sentence import of_hundred
from lcc.cost.verdict import LIKELY, UNLIKELY, PairedComparison, difference
from lcc.figures import CENTS, chance, more_or_less, said
from lcc.results import AlternativeResult

BAD = {label: answer for _, label, answer in NOT_KNOWN.values()}


def mostly(often: float) -> tuple[str, str]:
    """Return whether more random runs cost less or more, and how many of them.

    Parameters
    ----------
    often : float
        Part of the runs that cost less, from 0 to 1.

    Examples
    --------
    >>> mostly(0.25)
    ('more', '75% of random runs')
    """
    share = chance(max(often, 1 - often))
    return "less" if often > 0.5 else "more", f"{share} of random runs"


def disagreements(
    pair: PairedComparison, years: int, unknown: Collection[str] = ()
) -> Iterator[str]:
    """Yield a sentence for each view that does not agree with the point result."""
    yield from _tax_disagrees(pair)
    yield from draws_disagree(pair, unknown)
    yield from _unknown_counts(pair, unknown)
    yield from _bad_answers_disagree(pair, unknown)
    yield from _payments_disagree(pair)
    if pair.by_residual:
        costs, which = ("less", "it") if pair.saved > 0 else ("more", f"“{pair.base.name}”")
        yield (
            f"It costs {costs} only by what {which} is still worth in year {years}: without that "
            f"it would cost {difference(*pair.without_residual)}."
        )


def draws_disagree(pair: PairedComparison, unknown: Collection[str]) -> Iterator[str]:
    """Yield what the random runs say where it is another answer than the figures as entered."""
    often = pair.costs_less
    if often is None or pair.own.spread is None or pair.own.spread.against_base is None:
        return
    middle = pair.own.spread.against_base.net_savings.p50
    unsure = UNLIKELY <= often <= LIKELY
    if pair.level and not unsure:
        yield (
            f"The figures as entered make both about equal, but “{pair.own.name}” costs "
            f"{' in '.join(mostly(often))}, about {more_or_less(middle)} in the middle run"
            f"{why_apart(unknown)}."
        )
    elif not pair.level and (unsure or (often > LIKELY) != (pair.saved > 0)):
        entered, drawn = more_or_less(pair.saved), more_or_less(middle)
        beside = (
            ", and in the middle random run too"
            if drawn == entered
            else f", but about {drawn} in the middle random run{why_apart(unknown)}"
        )
        yield f"“{pair.own.name}” costs about {entered} as entered{beside}."


def why_apart(unknown: Collection[str]) -> str:
    """Say what the runs count and the figures as entered do not."""
    return ": the runs also count the cost of what is not known of the roof" if unknown else ""


def _unknown_counts(pair: PairedComparison, unknown: Collection[str]) -> Iterator[str]:
    """Say how sure it would be if nothing bad is found, where that is another chance by much."""
    often, known = pair.costs_less, pair.if_well
    if often is not None and known is not None:
        yield (
            f"“{pair.own.name}” costs less in {of_hundred(often)} random runs, which allow for "
            f"what is not known of the roof: {'; '.join(map(spoken, unknown))}. If nothing bad is "
            f"found, in {of_hundred(known)}. Find out before deciding."
        )


def _bad_answers_disagree(pair: PairedComparison, unknown: Collection[str]) -> Iterator[str]:
    """Name each open question whose bad answer alone would turn the point result round."""
    for swing in pair.own.swings:
        turned = (swing.net_savings_high > 0) != (pair.saved > 0)
        if swing.label in unknown and turned and not pair.level:
            by_base = swing.net_savings_high > pair.saved
            dearer = pair.base if by_base else pair.own
            then = more_or_less(swing.net_savings_high)
            yield (
                f"{swing.label}: if {BAD[swing.label]}{_not_held(dearer)} would cost more, and "
                f"then “{pair.own.name}” would cost about {then} than “{pair.base.name}”. Find out "
                "before deciding."
            )


def _not_held(dearer: AlternativeResult) -> str:
    """Name what would cost more; a price for all work may hold what is found, and then it stays."""
    if any(bid.taken and "everything" in bid.price_includes for bid in dearer.quotations):
        return f" and the price of “{dearer.name}” does not include that work, it"
    return f", “{dearer.name}”"


def _tax_disagrees(pair: PairedComparison) -> Iterator[str]:
    base, own = pair.base.after_tax, pair.own.after_tax
    if base is None or own is None or own.net_savings is None:
        return
    net = own.net_savings
    taxed = pair.level_after_tax
    before = f"it costs about {more_or_less(pair.saved)}"
    if taxed and not pair.level:
        yield (
            f"Before tax {before}; after tax both cost about the same. Other sums here are before "
            "tax."
        )
    elif not taxed and (pair.level or (net > 0) != (pair.saved > 0)):
        before = "both cost about the same" if pair.level else before
        yield f"Before tax {before}; after tax it costs about {more_or_less(net)}."
    line = own.net_savings_by_line
    if line is not None and (line > 0) != (net > 0) and not taxed:
        yield (
            f"The tax choices decide: with them it costs about {more_or_less(net)} after tax, with "
            f"all work written off year by year instead about {more_or_less(line)}. Ask your tax "
            "adviser."
        )


def _payments_disagree(pair: PairedComparison) -> Iterator[str]:
    """Say where interest eats up the saving: all payments together are more, to the end."""
    paid, theirs = pair.own.financed, pair.base.financed
    if paid and paid.total_interest > CENTS and paid.ahead_from is None and pair.saved > 0:
        yield (
            f"Paid by {paid.how}, all payments added up come to about "
            f"{said(-fsum(paid.yearly_difference))} more than for “{pair.base.name}”"
            f"{', paid so too' * bool(theirs and theirs.financed > 0)}; interest is about "
            f"{said(paid.total_interest)}. The headline counts no interest, and later dollars for "
            "less."
        )
