"""Every row of the table of checks: within its tolerance, or not covered with a reason."""

import json
import math
from dataclasses import replace

import pytest

from lcc import checks
from lcc.checks.run import SUBJECTS

ROWS = {row.id: row for row in checks.rows()}
COVERED = [row for row in ROWS.values() if row.covered]


MARCHED = [row for row in COVERED if row.subject == "march"]


@pytest.mark.parametrize(
    "row", [row for row in COVERED if row not in MARCHED], ids=lambda row: row.id
)
def test_our_figure_agrees_with_the_outside_one(row):
    """Source and tolerance of each row stand in data/checks.csv."""
    check = checks.compute(row)
    assert check.passed, f"{row.what}: theirs {check.theirs}, ours {check.ours}, {row.source}"


def test_a_year_agrees_with_the_finite_volume_march():
    """Eight roofs in three climates: sums within 1 %, hourly flux within 2 % of its peak.

    One test, since the march of all of them takes long and is made once.
    """
    assert len(MARCHED) == 8 * 3 * 5
    assert {row.tolerance for row in MARCHED} <= {0.01, 0.02}
    assert [row.id for row in MARCHED if not checks.compute(row).passed] == []


def test_rows_have_ids_of_their_own():
    assert len(ROWS) == len(checks.rows())


def test_a_row_says_where_its_figure_comes_from():
    for row in ROWS.values():
        assert row.source, row.id
        assert row.what, row.id
        assert row.basis in {"published", "from memory", "computed"}, row.id
        assert isinstance(json.loads(row.inputs), dict), row.id


def test_rows_that_are_not_covered_carry_a_reason_and_the_others_none():
    assert all(bool(row.reason) != row.covered for row in ROWS.values())


def test_a_tolerance_is_small_enough_to_fail():
    """A few per cent, or the rounding of what was printed; SRI within 2; plausibility 40 %."""
    for row in COVERED:
        allowed = row.tolerance if row.relative else row.tolerance / max(abs(row.expected), 1)
        most = {"sri": 2.0}.get(row.quantity, 0.4 if row.section == 12 else 0.05)
        assert allowed <= most, row.id


def test_most_of_the_table_is_covered():
    assert len(COVERED) >= 390


def test_every_section_has_a_title():
    assert {row.section for row in ROWS.values()} == set(checks.SECTIONS)


def test_every_subject_is_used():
    assert {row.subject for row in COVERED} == set(SUBJECTS)


def test_the_list_shows_every_row_with_a_verdict_or_a_reason():
    quick = [section for section in checks.SECTIONS if section != 10]  # the march has its own test
    shown = checks.run_checks(quick)
    assert [check.id for check in shown] == [row.id for row in ROWS.values() if row.section != 10]
    for check in shown:
        if check.passed is None:
            assert check.ours is None
            assert check.reason
        else:
            assert math.isfinite(check.ours)
            assert math.isfinite(check.difference)


def test_one_section_can_be_asked_for():
    shown = checks.run_checks([3])
    assert {check.section for check in shown} == {3}
    assert len(shown) == sum(row.section == 3 for row in ROWS.values())


def test_a_wrong_figure_fails():
    """The comparison itself can fail, by either kind of tolerance."""
    for relative in (False, True):
        row = next(row for row in COVERED if row.relative == relative and row.expected > 0)
        wrong = replace(row, expected=row.expected * 1.5)
        assert checks.compute(wrong).passed is False
