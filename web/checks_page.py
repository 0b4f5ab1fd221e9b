"""The page of the evidence: our figures beside those of standards, codes and measurements."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache

from lcc.checks import SECTIONS, Check, run_checks
from web import format as fmt

MARCH = 10  # the section whose reference marches through the year minute by minute


@dataclass(frozen=True)
class CheckLine:
    """One check as text."""

    what: str
    theirs: str
    ours: str
    difference: str
    tolerance: str
    verdict: str
    source: str


@dataclass(frozen=True)
class CheckSection:
    """The checks of one subject; without lines where they were left for later."""

    id: int
    title: str
    lines: tuple[CheckLine, ...]


@dataclass(frozen=True)
class Evidence:
    """Checks by subject, with how many hold."""

    within: int
    outside: int
    uncovered: int
    sections: tuple[CheckSection, ...]


@cache
def evidence(marched: bool) -> Evidence:
    """Return the checks, computed once in this process by the product's own functions.

    Parameters
    ----------
    marched : bool
        Whether the march through whole years is run too, which takes some ten seconds.
    """
    wanted = [number for number in SECTIONS if marched or number != MARCH]
    done = run_checks(wanted)
    return Evidence(
        sum(one.passed is True for one in done),
        sum(one.passed is False for one in done),
        sum(one.passed is None for one in done),
        tuple(
            CheckSection(number, title, tuple(map(_line, _of(number, done))))
            for number, title in SECTIONS.items()
        ),
    )


def _of(number: int, done: Iterable[Check]) -> list[Check]:
    """The checks of a section, those that are not covered last."""
    return sorted((one for one in done if one.section == number), key=lambda one: one.ours is None)


def _line(check: Check) -> CheckLine:
    verdict = {True: "within", False: "outside", None: check.reason}[check.passed]
    return CheckLine(
        check.what,
        _plain(check.theirs),
        _plain(check.ours),
        _apart(check.difference, check.relative),
        _apart(check.tolerance, check.relative),
        verdict,
        f"{check.source} ({check.basis})",
    )


def _plain(value: float | None) -> str:
    """A checked figure, with more digits than the page's own rule: here digits are the point."""
    return fmt.NOTHING if value is None else f"{value:,.6g}".replace("-", fmt.MINUS)


def _apart(value: float | None, relative: bool) -> str:
    if value is None:
        return fmt.NOTHING
    figure = float(f"{100 * value if relative else value:.2g}")
    text = f"{figure:.10f}".rstrip("0").rstrip(".") + ("%" if relative else "")
    return text.replace("-", fmt.MINUS)
