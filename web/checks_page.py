"""The page of the evidence: our figures beside those of standards, codes and measurements."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache
from itertools import groupby

from lcc.checks import Check, run_checks
from web import format as fmt


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
class Evidence:
    """All checks by subject, with how many hold."""

    within: int
    outside: int
    uncovered: int
    groups: tuple[tuple[str, tuple[CheckLine, ...]], ...]


@cache
def evidence() -> Evidence:
    """Return every check, computed once in this process by the product's own functions."""
    done = run_checks()
    return Evidence(
        sum(one.passed is True for one in done),
        sum(one.passed is False for one in done),
        sum(one.passed is None for one in done),
        tuple(_groups(done)),
    )


def _groups(done: Iterable[Check]) -> Iterable[tuple[str, tuple[CheckLine, ...]]]:
    for subject, group in groupby(sorted(done, key=_subject), key=_subject):
        yield subject, tuple(_line(one) for one in group)


def _subject(check: Check) -> str:
    """The work that a figure comes from: its source up to the first comma or bracket."""
    return check.source.split(",")[0].split(" (")[0].strip() or "Other"


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
    text = f"{100 * value:.2g}%" if relative else f"{value:.2g}"
    return text.replace("-", fmt.MINUS)
