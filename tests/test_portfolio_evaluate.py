"""A portfolio equals its single cases to the bit, with any executor and chunk size."""

import pickle
import tracemalloc
from concurrent.futures import ProcessPoolExecutor, ThreadPoolExecutor
from dataclasses import replace
from multiprocessing import get_context

import numpy as np
import pandas as pd
import pytest

from lcc import tables
from lcc.case import Coating, Membrane, MetalRetrofit
from lcc.case.roof import LEAK_COST
from lcc.comparison import compare
from lcc.cost.work import ENERGY
from lcc.errors import CaseError
from lcc.heat import energy
from lcc.portfolio.columns import by_attribute
from lcc.portfolio.evaluation import evaluate, evaluate_partition, in_row_order, partitions
from lcc.portfolio.heat_by_area import HIGH, LOW
from lcc.portfolio.outcome import as_frame, outcomes
from lcc.portfolio.owner_records import IDENTITY, LEAK_DAMAGE_PER_M2, PATCHING_PER_M2, RECORDS
from lcc.portfolio.ranking import CapitalProgramme, best_rows, totals
from lcc.portfolio.rows import case_of, defaults_used, roof_layers, template
from lcc.portfolio.ways_by_year import a_year_later, waiting_a_year
from web.portfolio_words import lead_in_words

OF_LAYING = (
    "The price of “Metal retrofit” does not say what it includes. It is taken for laying alone, "
    "and tear-off, insulation and other work are added at usual prices. If it holds that work, "
    "the roof costs less than counted here."
)
TWO = replace(template(), alternatives=(*template().alternatives, Coating()))


def buildings(rows=12, seed=3):
    """Invented buildings: a few heat problems, everything of money different."""
    rng = np.random.default_rng(seed)
    return pd.DataFrame(
        {
            "name": [f"Building {i}" for i in range(rows)],
            "climate": rng.choice(["tulsa-ok", "miami-fl"], rows),
            "roof_area_m2": rng.choice([900.0, 2400.0], rows),
            "roof_type": "steel-deck-perlite",
            "covering": "epdm-black",
            "age_y": rng.uniform(0, 14, rows).round(1),
            "electricity_price_per_kwh": rng.uniform(0.08, 0.2, rows).round(4),
            "retrofit_price_per_m2": np.where(rng.random(rows) < 0.5, np.nan, 140.0),
        }
    )


FRAME = buildings()


def whole(frame=FRAME, base=TWO, **options):
    return pd.concat(list(evaluate(frame, base, **options)), ignore_index=True)


@pytest.fixture(scope="module")
def reference():
    return whole()


def same(one, other):
    pd.testing.assert_frame_equal(one, other, check_exact=True)


def test_every_figure_is_that_of_a_single_comparison_to_the_bit(reference):
    rows = []
    left = defaults_used(FRAME)
    for building, row in enumerate(FRAME.to_dict("records")):
        given = {name: value for name, value in row.items() if value == value}  # noqa: PLR0124
        case = case_of(given, TWO)
        plain = compare(case)
        waiting = waiting_a_year(case, plain, a_year_later(case, plain), given)
        entered = "retrofit_price_per_m2" in given  # and the table has no column of its scope
        cautions = (*plain.cautions, *([OF_LAYING] if entered else []))
        more = {"cautions": cautions, "heat": "solved", **waiting}
        rows += outcomes(building, case, plain.alternatives, {"defaults": left[building]}, **more)
    held = "net_savings_all_held"  # which no single comparison answers
    same(reference.drop(columns=held), as_frame(rows).drop(columns=held))
    assert reference["net_savings"].notna().all()


@pytest.mark.parametrize("partition_rows", [1, 5, 1000])
def test_the_partition_changes_nothing(reference, partition_rows):
    same(whole(partition_rows=partition_rows), reference)


@pytest.mark.thorough
def test_threads_and_processes_change_nothing(reference):
    with ThreadPoolExecutor(3) as threads:
        same(whole(executor=threads, partition_rows=2), reference)
    with ProcessPoolExecutor(2, mp_context=get_context("spawn")) as processes:
        same(whole(executor=processes, partition_rows=2), reference)


def test_the_order_of_the_rows_changes_nothing_but_the_order(reference):
    shuffled = FRAME.sample(frac=1, random_state=1)
    found = whole(shuffled)
    assert found["building"].drop_duplicates().tolist() == shuffled.index.tolist()
    same(found.sort_values("building", kind="stable", ignore_index=True), reference)


def test_two_portfolios_one_after_the_other_are_their_sum(reference):
    halves = [whole(FRAME.iloc[:7]), whole(FRAME.iloc[7:])]
    same(pd.concat(halves, ignore_index=True), reference)


def test_identical_heat_problems_are_neighbours_and_solved_once(monkeypatch):
    frame = buildings(40)
    order = [position for part in partitions(frame, 7) for position in part]
    assert sorted(order) == list(range(40))
    problems = frame[["climate", "roof_area_m2"]].apply(tuple, axis=1).iloc[order]
    changes = (problems != problems.shift()).sum()
    assert changes == problems.nunique()
    assert order[0] == 0

    solved = []
    genuine = energy.solve
    energy._heat_figures.cache_clear()
    monkeypatch.setattr(energy, "solve", lambda *args: solved.append(args[:4]) or genuine(*args))
    whole(frame)
    assert len(solved) == len(set(solved))
    assert len({args[:3] for args in solved}) == problems.nunique()


def test_results_flow_before_all_the_work_is_done():
    flow = evaluate(FRAME, template(), partition_rows=1)
    first = next(flow)
    assert first["building"].iloc[0] == 0
    assert len(first) < len(FRAME)
    flow.close()


def test_a_building_that_the_core_refuses_is_told_and_the_others_stand(reference):
    wrong = FRAME.assign(cooling_eer=[99.0, *[None] * 11])
    found = whole(wrong)
    refused = found[found["building"] == 0]
    assert refused["problem"].tolist() == ["cooling_eer is 99.0; allowed: at least 4, at most 30"]
    assert refused["net_savings"].isna().all()
    others = ["name", "net_savings", "first_cost", "life_cycle_cost"]
    same(
        found.loc[found["building"] > 0, others].reset_index(drop=True),
        reference.loc[reference["building"] > 0, others].reset_index(drop=True),
    )


def test_columns_left_to_the_template_are_marked():
    marked = whole(FRAME.iloc[:4])
    given = FRAME["retrofit_price_per_m2"].iloc[:4].notna().tolist()
    per_building = marked.drop_duplicates("building")["defaults"]
    assert [("retrofit_price" not in text) for text in per_building] == given
    assert per_building.str.contains("use").all()
    assert not per_building.str.contains("electricity_price").any()


@pytest.mark.parametrize(
    ("frame", "field"),
    [(FRAME.drop(columns="climate"), "climate"), (FRAME.assign(colour="red"), "colour")],
)
def test_missing_and_unknown_columns_are_refused(frame, field):
    with pytest.raises(CaseError) as caught:
        evaluate(frame)
    assert caught.value.field == field


def test_a_column_of_the_membrane_is_refused_where_the_base_case_is_none():
    base = replace(template(), base_case=Coating(), alternatives=(Membrane(),))
    with pytest.raises(CaseError, match="no membrane"):
        evaluate(FRAME.assign(new_covering_price_per_m2=70.0), base)


def test_every_column_reaches_the_case():
    """Each value of a row is found again in the case it makes."""
    row = {
        "name": "A", "climate": "boise-id", "roof_area_m2": 1234.0,
        "roof_type": "concrete-deck-bare", "covering": "tpo-white", "age_y": 3.0,
        "coverings_in_place": 2, "remaining_life_y": 4.0,
        "insulation_m2k_w": 1.29, "wet_fraction": 0.1, "rooftop_units": 3, "repairs_per_m2": 2.0,
        "use": "office", "storeys": 2, "storey_height_m": 5.0, "length_to_width": 1.5,
        "cooling_eer": 11.0, "heating": "heat-pump", "heating_efficiency": 3.0,
        "electricity_price_per_kwh": 0.11, "demand_charge_per_kw": 9.0, "gas_price_per_kwh": 0.05,
        "new_covering": "pvc-white", "new_covering_price_per_m2": 81.0,
        "retrofit_price_per_m2": 155.0, "grant": 1500.0, "panel": "painted-white",
    }  # fmt: skip
    assert set(row) == set(by_attribute()) - {*IDENTITY, *RECORDS, *_UNITS}
    case = case_of(row, TWO)
    for name, column in by_attribute().items():
        where = case
        if column.path[:1] == ("retrofit",):
            where = next(a for a in case.alternatives if isinstance(a, MetalRetrofit))
        if column.path:
            steps = column.path[1:] if column.path[0] == "retrofit" else column.path
            for step in steps:
                where = getattr(where, step)
            assert where == row[name], name
    assert [layer.material for layer in case.roof.layers] == [
        *["single-ply-membrane"] * 2, "polyiso-board", "concrete-structural",
    ]  # fmt: skip
    # 1.29 m²K/W of board of 0.0258 W/mK
    assert case.roof.layers[2].thickness_m == pytest.approx(0.0333, abs=1e-4)


@pytest.mark.parametrize("roof_type", tables.keys("roof_types"))
def test_every_roof_type_makes_layers_that_the_core_accepts(roof_type):
    row = {**FRAME.iloc[0].dropna().to_dict(), "roof_type": roof_type}
    assert case_of(row, template()).roof.layers
    without = case_of({**row, "insulation_m2k_w": 0.0}, template()).roof.layers
    assert all(layer.material not in ("perlite-board", "polyiso-board") for layer in without)


def test_batts_lie_under_a_plywood_deck_with_the_r_value_of_their_name_or_the_one_entered():
    *_, deck, batts = roof_layers("plywood-deck-batts", "epdm-black", 1, None)
    *_, deck_too, entered = roof_layers("plywood-deck-batts", "epdm-black", 1, 3.0)
    assert [deck.material, batts.material] == ["plywood", "glass-fibre-blanket"]
    assert [deck_too.material, entered.material] == ["plywood", "glass-fibre-blanket"]
    conductivity = tables.rows("materials")["glass-fibre-blanket"]["conductivity_w_mk"]
    # R-19 in h·ft²·°F/Btu, to half of its last digit
    assert batts.thickness_m / conductivity / 0.17611 == pytest.approx(19, abs=0.5)
    assert entered.thickness_m / conductivity == pytest.approx(3.0)
    *_, board, under = roof_layers("plywood-deck-polyiso", "epdm-black", 1, None)
    assert [board.material, under.material] == ["polyiso-board", "plywood"]


_UNITS = {"patching_per_m2", "leak_damage_per_m2", "warranty_left_y"}


def records(**said):
    """The case of a building of which the owner's records say something, and without."""
    row = {**FRAME.iloc[0].dropna().to_dict(), "age_y": 16.0}
    # A tear-off each time, so that prices alone do not change which method is the cheaper.
    torn = replace(TWO.base_case, method="tear-off")
    coated = replace(TWO.alternatives[1], replacement=torn)
    base = replace(TWO, base_case=torn, alternatives=(TWO.alternatives[0], coated))
    return case_of({**row, **said}, base), case_of(row, base)


@pytest.mark.parametrize(
    ("condition", "left"), [("good", 5.0), ("fair", 4.0), ("poor", 2.0), ("failed", 0.0)]
)
def test_a_surveyed_condition_bounds_the_years_left(condition, left):
    """EPDM of 20 years that is 16 years old has four left by its age."""
    assert records(condition=condition)[0].roof.remaining_life_y == left
    assert records(condition=condition, remaining_life_y=9.0)[0].roof.remaining_life_y == 9.0


def test_leaks_are_repaired_every_year():
    leaky, dry = records(leaks=2.0)
    more = (leaky.roof.repairs_per_m2 - dry.roof.repairs_per_m2) * dry.roof.area_m2
    assert more == pytest.approx(2 * LEAK_COST)


def test_a_regional_price_factor_raises_all_roofing_but_no_energy():
    """Without energy and residue the life-cycle costs rise by just the factor."""
    dear, plain = (compare(one, explore=False).alternatives for one in records(price_factor=1.3))
    for one, other in zip(dear, plain, strict=True):
        assert one.first_cost == pytest.approx(1.3 * other.first_cost)
        assert one.residual_value == pytest.approx(1.3 * other.residual_value)
        energy = sum(c.present_value for c in other.costs if c.name in ENERGY)
        whole_cost = 1.3 * (other.life_cycle_cost - energy) + energy
        assert one.life_cycle_cost == pytest.approx(whole_cost, rel=1e-9)
    own, _ = records(price_factor=1.3, new_covering_price_per_m2=70.0)
    assert own.base_case.price_per_m2 == 70.0


def base_ways(**said):
    """The base case of an EPDM of 20 years, 16 years old, over eight years of a plan."""
    frame = FRAME.assign(age_y=16.0, **said).iloc[:1]
    options = whole(frame, template(), start_years=8)
    return options[options["alternative"] == ""].reset_index(drop=True), options


def test_each_alternative_may_begin_in_each_year_and_the_base_case_from_when_it_is_due():
    base, options = base_ways()
    assert base["begins"].tolist()[:4] == [4, 5, 6, 7]
    assert np.isnan(base["begins"].tolist()[4])
    metal = options[options["alternative"] != ""]
    assert metal["begins"].tolist() == list(range(8))
    assert (options["base_work_year"] == 4).all()
    late = replace(
        template(),
        alternatives=tuple(replace(a, start="end-of-life") for a in template().alternatives),
    )
    frame = FRAME.assign(age_y=16.0).iloc[:1]
    at_end = whole(frame, late)["life_cycle_cost"].iloc[0]
    assert metal["life_cycle_cost"].iloc[4] == pytest.approx(at_end, rel=1e-12)
    now = whole(frame, template())["life_cycle_cost"].iloc[0]
    assert metal["life_cycle_cost"].iloc[0] == pytest.approx(now, rel=1e-12)


def test_a_roof_past_due_is_patched_and_its_leaks_count():
    base, _ = base_ways()
    area, growth = float(FRAME["roof_area_m2"].iloc[0]), 1.08
    first = PATCHING_PER_M2 * area
    on_time, one_late, two_late = base["patching"].iloc[:3]
    assert sum(on_time) == 0
    assert one_late == pytest.approx((0, 0, 0, 0, first, 0, 0, 0))
    assert two_late == pytest.approx((0, 0, 0, 0, first, first * growth, 0, 0))
    leaks = LEAK_DAMAGE_PER_M2 * area
    assert base["leak_risk"].iloc[1] == pytest.approx(leaks)  # money of the year, as patching
    assert base["leak_risk"].iloc[2] == pytest.approx(leaks + leaks * growth)
    without, _ = base_ways(patching_per_m2=0.0, leak_damage_per_m2=0.0)
    more = base["life_cycle_cost"] - without["life_cycle_cost"]
    assert more.iloc[1] == pytest.approx(leaks / 1.03**5 + first / 1.03**4)


def test_a_rebate_of_a_roof_comes_off_its_retrofit_alone():
    plain, less = (whole(FRAME.iloc[:1].assign(grant=one), template()) for one in (0.0, 12_000.0))
    assert plain["life_cycle_cost"].iloc[0] - less["life_cycle_cost"].iloc[0] == pytest.approx(12e3)
    assert less["base_life_cycle_cost"].tolist() == plain["base_life_cycle_cost"].tolist()


def test_patching_is_the_makers_while_the_warranty_lasts():
    base, _ = base_ways(warranty_left_y=5.0)
    assert sum(base["patching"].iloc[1]) == 0
    assert sum(base["patching"].iloc[2]) > 0


def test_what_a_plan_pays_is_money_of_each_year():
    economics = replace(template().economics, inflation=0.02, work_escalation=0.01)
    dear, plain = (
        whole(FRAME.assign(age_y=16.0).iloc[:1], base, start_years=6)
        for base in (replace(template(), economics=economics), template())
    )
    one, other = (frame[frame["alternative"] == ""].iloc[0]["work"] for frame in (dear, plain))
    assert one[4] == pytest.approx(other[4] * (1.02 * 1.01) ** 4)


def test_waiting_a_year_is_what_the_plan_says_of_it():
    frame = FRAME.assign(age_y=20.0).iloc[:1]
    row = whole(frame, template()).iloc[0]
    options = whole(frame, template(), start_years=2)
    late = options[(options["alternative"] == "") & (options["begins"] == 1)].iloc[0]
    more = late["life_cycle_cost"] - row["base_life_cycle_cost"]
    assert row["waiting_cost"] == pytest.approx(more)
    assert row["patching_cost"] == pytest.approx(late["patching"][0])


def test_a_coating_is_laid_in_the_first_year_or_not_at_all():
    options = whole(FRAME.assign(age_y=16.0).iloc[:1], TWO, start_years=3)
    assert options.loc[options["kind"] == "coating", "first_year"].tolist() == [0]
    assert options.loc[options["kind"] == "metal-retrofit", "first_year"].tolist() == [0, 1, 2]


@pytest.mark.parametrize("age_y", [0.0, 10.0, 13.0])
def test_a_coating_of_the_plan_is_the_coating_of_its_row(age_y):
    """It keeps the covering there, whose life is what is left of it and not nothing."""
    frame = FRAME.assign(age_y=age_y).iloc[:1]
    options, rows = whole(frame, TWO, start_years=3), whole(frame, TWO)
    names = ["alternative", "first_year", "first_cost", "life_cycle_cost", "net_savings"]
    of_plan, of_row = (each.loc[each["kind"] == "coating", names] for each in (options, rows))
    assert of_plan.to_numpy().tolist() == [
        [*row[:-1], pytest.approx(row[-1])] for row in of_row.to_numpy().tolist()
    ]


def test_all_work_within_the_plans_years_is_told_year_by_year():
    """A coating's work does not end with its laying, nor a base case's with its next covering."""
    frame = FRAME.assign(age_y=19.0).iloc[:1]
    options = whole(frame, TWO, start_years=25)
    case = case_of(frame.dropna(axis=1).to_dict("records")[0], TWO)
    base, _, coating = compare(case, explore=False).alternatives
    row = options[options["kind"] == "coating"].iloc[0]
    on_time = options[options["alternative"] == ""].iloc[0]
    for told, result in ((row["work"], coating), (on_time["work"], base)):
        expected = dict.fromkeys(range(25), 0.0)
        for event in result.events:
            if event.year < 25:
                expected[event.year] += event.cost
        assert list(told) == list(expected.values())
        assert sum(cost > 0 for cost in told) >= 2


def test_a_case_files_own_site_and_roof_stand_for_no_building():
    roof = replace(TWO.roof, remaining_life_y=2.0, rooftop_units=6, coverings=2, wet_fraction=0.3)
    site = replace(TWO.site, terrain="urban")
    same(whole(FRAME.iloc[:3], replace(TWO, roof=roof, site=site)), whole(FRAME.iloc[:3]))


def test_a_refused_coating_leaves_its_row_alone_and_the_row_says_why():
    """Ballast, and a covering with no years left: metal stays as it is without the coating."""
    frame = buildings(3, seed=5).assign(
        age_y=[5.0, 5.0, 40.0], covering=["epdm-black", "epdm-ballasted", "epdm-black"]
    )
    for years in (0, 2):
        rows, alone = (whole(frame, base, start_years=years) for base in (TWO, template()))
        assert rows["problem"].isna().all()
        coated = rows[rows["kind"] == "coating"]["building"].unique().tolist()
        assert coated == [0]
        said = rows.groupby("building")["left_out"].first().tolist()
        assert said[0] is None
        assert "loose stone" in said[1]
        assert "no years left" in said[2]
        metal, same = (each[each["kind"] == "metal-retrofit"] for each in (rows, alone))
        assert metal["life_cycle_cost"].tolist() == same["life_cycle_cost"].tolist()


def test_a_row_with_nothing_but_a_refused_coating_says_why_it_fails():
    frame = buildings(1).assign(covering="epdm-ballasted")
    (problem,) = whole(frame, replace(template(), alternatives=(Coating(),)))["problem"]
    assert "loose stone" in problem


def test_results_that_wait_for_an_earlier_row_take_little_memory():
    """2 KiB for each further roof at most; outcomes as objects took 15."""
    rows, part, held = 1000, 50, []
    one = pickle.dumps(evaluate_partition(FRAME[:1].assign(**{LOW: None, HIGH: None}), template()))

    def results():
        for last in range(rows, 0, -part):
            held.append(tracemalloc.get_traced_memory()[0])
            numbers = range(last - part, last)
            yield [replace(pickle.loads(one)[0], building=i, name=f"Roof {i}") for i in numbers]

    tracemalloc.start()
    try:
        frames = list(in_row_order(results(), range(rows)))
    finally:
        tracemalloc.stop()
    assert frames[-1]["building"].tolist() == list(range(rows))
    assert (held[-1] - held[10]) / (rows - 10 * part) < 2 * 1024


def test_what_a_roof_saves_if_prices_of_unknown_scope_held_all_work():
    """It is the answer with both prices stated to hold everything; the tear-off is in both."""
    row = {"name": "A", "climate": "tulsa-ok", "roof_area_m2": 900.0, "age_y": 14.0,
           "roof_type": "steel-deck-perlite", "covering": "epdm-black", "coverings_in_place": 2,
           "retrofit_price_per_m2": 140.0, "new_covering_price_per_m2": 90.0}  # fmt: skip
    (found,) = evaluate_partition(pd.DataFrame([row | {HIGH: None, LOW: None}]), template())
    case = case_of(row, template())
    case = replace(
        case,
        base_case=replace(case.base_case, price_includes=("everything",)),
        alternatives=(replace(case.alternatives[0], price_includes=("everything",)),),
    )
    base, own = compare(case, explore=False).alternatives
    held = base.life_cycle_cost - own.life_cycle_cost
    assert found.net_savings_all_held == pytest.approx(held, abs=0.01)
    assert abs(held - found.net_savings) > 1000.0
    results = as_frame([
        replace(found, building=0, net_savings=5.0, net_savings_all_held=-1.0),
        replace(found, building=1, net_savings=5.0, net_savings_all_held=1.0),
        replace(found, building=2, net_savings=5.0, net_savings_all_held=None, cautions=()),
    ])  # fmt: skip
    lead = " ".join(lead_in_words(CapitalProgramme(totals(best_rows(results))), results, None))
    assert "Prices entered for 2 roofs do not say" in lead
    assert "if all of them did, 2 roofs would save, against 3 as counted." in lead
    stated = dict.fromkeys(("retrofit_price_per_m2", "new_covering_price_per_m2"))
    (none,) = evaluate_partition(pd.DataFrame([row | stated | {HIGH: None, LOW: None}]), template())
    assert none.net_savings_all_held is None
