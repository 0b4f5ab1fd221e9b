"""Heat interpolated over the areas of many roofs is that of each roof solved for itself."""

import re

import numpy as np
import pandas as pd
import pytest

from lcc.portfolio.evaluation import evaluate
from lcc.portfolio.exact_heat import Exactly, settled_set
from lcc.portfolio.heat_by_area import FEWEST, energy_of, exact, node_areas, with_ranges
from lcc.portfolio.one_budget import best_set
from lcc.portfolio.ranking import ranked

# Net savings may be off by this part of the cost of the roof's work, fixed before it was measured.
MOST = 0.001
CLIMATES = ["tulsa-ok", "miami-fl", "chicago-il", "phoenix-az", "boston-ma"]


def roofs(rows, climates, seed=1):
    """Invented roofs of every size, alike in all else that heat depends on."""
    draw = np.random.default_rng(seed)
    return pd.DataFrame(
        {
            "name": [f"R{i}" for i in range(rows)],
            "climate": draw.choice(climates, rows),
            "roof_area_m2": np.exp(draw.uniform(np.log(400), np.log(30_000), rows)).round(1),
            "roof_type": "steel-deck-perlite",
            "covering": "epdm-black",
            "age_y": draw.uniform(0, 16, rows).round(0),
            "use": draw.choice(["office", "school"], rows) if rows > 100 else "office",
        }
    )


def both(frame):
    return [
        pd.concat(list(evaluate(frame, by_area=by_area)), ignore_index=True)
        for by_area in (False, True)
    ]


def check(frame):
    alone, together = both(frame)
    off = (alone["net_savings"] - together["net_savings"]).abs()
    assert (off / alone["first_cost"]).max() < MOST
    assert alone["net_savings"].corr(together["net_savings"], method="spearman") > 0.9999
    for name in ("first_cost", "base_work_cost", "waiting_cost"):
        same = np.isclose(together[name], alone[name], rtol=1e-6, equal_nan=True)
        assert same.all()
    check_sets(frame, alone, together)
    check_ranks(alone, together)


def check_ranks(alone, together):
    """Each rank as computed exactly is the one shown, or lies in the range shown beside it."""
    for by in ("net-savings-per-cost", "net-savings"):
        exact = ranked(alone, by).set_index("building")["rank"]
        for row in ranked(together, by).itertuples():
            told = re.search(r"(\d+) to (\d+) by", row.rank_note or "")
            low, high = map(int, told.groups()) if told else (row.rank, row.rank)
            assert low <= exact[row.building] <= high


def check_sets(frame, alone, together):
    """Sets under three budgets save what the sets of exact heat save, to the cent."""

    def solved(buildings, years):
        again = evaluate(frame.loc[buildings], start_years=years)
        return pd.concat(list(again), ignore_index=True)

    every = Exactly(frozenset(int(one) for one in frame.index), solved)
    for share in (0.1, 0.3, 0.6):
        budget = float(round(share * alone["first_cost"].sum()))
        best = best_set(alone, budget)
        _, found = settled_set(together, lambda rows, most=budget: best_set(rows, most), every)
        assert (found.shortfall, best.shortfall) == (0.0, 0.0)
        kept = [worth(alone, one) for one in (found, best)]
        assert kept[0] == pytest.approx(kept[1], abs=0.01)


def worth(alone, one):
    lost = alone.drop_duplicates("building").set_index("building")["waiting_cost"]
    return alone.loc[one.chosen, "net_savings"].sum() - lost.loc[list(one.put_off)].sum()


@pytest.mark.thorough
def test_net_savings_are_those_of_each_roof_alone():
    check(roofs(40, ["chicago-il"]))


@pytest.mark.thorough
def test_net_savings_of_two_thousand_roofs_in_five_climates():
    check(roofs(2000, CLIMATES))


def test_few_areas_and_one_area_are_solved_each_for_itself():
    frame = roofs(FEWEST - 1, ["tulsa-ok"])
    alone, together = both(frame)
    pd.testing.assert_frame_equal(alone, together, check_exact=True)
    ranges = with_ranges(roofs(FEWEST, ["tulsa-ok"]), ["climate", "roof_area_m2"])
    assert ranges["area_from_m2"].notna().all()
    assert energy_of(500.0, 500.0) is exact
    assert energy_of(None, None) is exact


def test_nodes_lie_within_the_range():
    areas = node_areas(400.0, 30_000.0)
    assert (areas.min() > 400.0, areas.max() < 30_000.0) == (True, True)
