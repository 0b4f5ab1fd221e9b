"""The demo case: its survey is that of its roof, and its figures by a walk of this file's own.

The walk takes prices and lives from the document as written, in feet and dollars, and only the
energy bills of each state of the roof from the answer.
"""

import copy
import math

import pytest

from api.service import load_case
from lcc import tables
from lcc.comparison import compare

M2 = 0.3048**2
AREA = 24000.0
# Rows of the tables that the demo leaves to them, per m², per kg and for each unit.
TEAR_OFF, DISPOSAL, INSULATION, DISRUPTION, LIFT = 21.5, 0.12, 12.0, 4.0, 2500.0
REFLASHED, WARRANTY, STRUCTURE, ON_COSTS = 450.0, 1.6, 0.03, 0.08
MASS = {"epdm-black": 2.5, "tpo-white": 2.0}
# Zone 3 asks R-25 = 4.4028 m²K/W; 1.5 in of perlite of 0.052 W/mK less 5 % for joints stay, and
# the steel deck of 0.9 mm and 50 W/mK (materials table) counts with them.
ADDED = 4.4028 - 0.95 * 1.5 * 0.0254 / 0.052 - 0.0009 / 50
VARIANTS = {
    "as it is": {},
    "nominal": {"rate_kind": "nominal", "discount_rate": 1.03 * 1.025 - 1, "inflation": 0.025},
    "escalated": {"work_escalation": 0.01, "repairs_escalation": 0.005, "study_period": 33,
                  "electricity_escalation": 0.015, "gas_escalation": -0.01, "discount_rate": 0.045,
                  "inflation": 0.02, "tax": {"rate": 0.27}},
    "brief": {"study_period": 12},
}  # fmt: skip


@pytest.fixture(scope="module")
def demo():
    return tables.read_json("demo/case.json")


@pytest.fixture(scope="module")
def answer(demo):
    return compare(load_case(demo).case)


def test_the_survey_agrees_with_the_roof(demo, answer):
    """200 ft by 120 ft are 24,000 ft²; the survey lifts the six units; nothing is flagged."""
    taken = answer.alternatives[1].quantities
    assert taken.surface.plan_area_m2 == pytest.approx(AREA * M2, rel=1e-12)
    assert taken.services.rooftop_units == demo["roof"]["rooftop_units"]
    assert taken.flags == ()
    # 0.8 ft of post, 4 in of purlin, half of 60 ft at 1/2 in 12, less 6 in of blanket: 1.883 ft.
    assert taken.cavity.mean_height_m == pytest.approx(
        (0.8 + 1 / 3 + 1.25 - 0.5) * 0.3048, rel=1e-9
    )
    assert demo["alternatives"][0]["cavity"]["mean_height"] == pytest.approx(1.883, abs=0.005)


def retrofitted():
    """The first job of the retrofit but for the rooms: 15.5 $/ft² and what no price holds.

    Design is a part of laying; permit and the like a part of laying, design and six lifts.
    """
    laid = 15.5 * AREA
    fees = STRUCTURE * laid + ON_COSTS * ((1 + STRUCTURE) * laid + 6 * LIFT)
    return laid, 6 * LIFT + fees + WARRANTY * AREA * M2


def test_the_price_stands_beside_the_build_up(answer):
    """What the survey builds is set beside the same work at the price: laying, design and lifts.

    The permit of the survey's lines is in both; no fees or warranty, which they do not have.
    """
    cost = answer.alternatives[1].quantities.first_cost
    before = sum(one.cost for one in cost.lines if one.key.partition("_rate")[0] not in
                 ("contingency", "overhead", "profit"))  # fmt: skip
    permit = sum(one.cost for one in cost.lines if one.key == "permit_rate")
    rooms = 0.05 * DISRUPTION * AREA * M2
    assert answer.alternatives[1].first_cost == pytest.approx(sum(retrofitted()) + rooms, rel=1e-12)
    same = (1 + STRUCTURE) * 15.5 * AREA + 6 * LIFT
    assert cost.quotation == pytest.approx(same + cost.build_up * permit / before, rel=1e-12)


def test_the_panel_s_movement_is_given_and_within_its_clips(answer):
    moved = answer.alternatives[1].quantities.movement
    assert moved.coldest_c < -10
    assert moved.hottest_c > 45
    assert not moved.exceeds


def test_the_draws_are_shown(answer):
    spread = answer.alternatives[1].spread
    assert spread.draws == 10_000
    assert sum(spread.against_base.shares) == pytest.approx(1.0, abs=1e-12)
    assert "varied at random 10,000 times" in answer.verdict


# --- A walk of its own through the years -------------------------------------------------------


def membranes(price, life, covering, start, years):
    """Two coverings in place are torn off; then a recover of 0.9 of the life, or a tear-off again.

    The cheaper of both over the study period is what the owner does.
    """
    return [sequence(price, life, covering, start, years, again) for again in (True, False)]


def sequence(price, life, covering, start, years, recovered):
    """Each job: 12 in of flashing leave 8 in above 4 in of new roof, so no unit is lifted."""
    done, year, masses, old = [], start, [7.0, 7.0], True
    while year < years:
        laid, lasts = price * AREA, life
        other, rooms, insulation = 6 * REFLASHED, 0.0, 0.0
        if len(masses) == 2 or (not recovered and not old):
            other += (TEAR_OFF * len(masses) + DISPOSAL * sum(masses)) * M2 * AREA
            insulation = ADDED * INSULATION * M2 * AREA if old else 0.0
            masses, rooms = [], DISRUPTION * M2 * AREA
        else:
            lasts = math.floor(0.9 * life + 0.5)
        fees = ON_COSTS * (laid + other + insulation) + WARRANTY * M2 * AREA
        cost = {"laid": laid, "below": insulation, "other": other + rooms + fees}
        done.append((year, cost, lasts))
        masses.append(MASS[covering])
        year, old = year + lasts, False
    return done


def cheaper(ways, rate):
    """Return the walk of least present value."""
    return min(ways, key=lambda way: present(way[0], rate))


def walked(result, steps, keeping, economics, paid_once=()):
    """Return costs by year, work by year, and the residual value, in base-year money."""
    years = economics["study_period"]
    growth = {k: 1 + economics.get(f"{k}_escalation", 0.0) for k in ("work", "repairs")}
    power, gas = (1 + economics.get(f"{k}_escalation", 0.0) for k in ("electricity", "gas"))
    bills = {y: (s.electricity_cost, s.gas_cost) for s in result.energy for y in s.years}
    work = [0.0] * (years + 1)
    for year, cost, _ in steps:
        work[year] += sum(cost.values()) * growth["work"] ** year
    flow = list(work)
    for year in range(1, years + 1):
        begun = [start for start, _, _ in steps if start < year]
        kept = keeping(year, begun[-1] if begun else None) * growth["repairs"] ** year
        flow[year] += kept + bills[year][0] * power**year + bills[year][1] * gas**year
    for year, cost in paid_once:
        flow[year] += cost * (growth["repairs"] ** year if year < years else 0.0)
    year, cost, lasts = steps[-1]
    residual = cost["laid"] * max(0.0, 1 - (years - year) / lasts)
    # Insulation and framing lie below every later roof: 75 years from the day they were laid.
    below = sum(c.get("below", 0.0) * max(0.0, 1 - (years - y) / 75) for y, c, _ in steps)
    residual = (residual + below) * growth["work"] ** years
    flow[years] -= residual
    return flow, work, residual


def three(answer, economics, rate):
    """Walk through the base case, the retrofit and the coating of the demo."""
    years = economics["study_period"]
    base, metal, coated = answer.alternatives

    def of_membrane(first, growth, steps, usual):
        slower = {start: 1.0 if lasts == usual else 0.9 for start, _, lasts in steps}

        def keeping(year, begun):
            if begun is None:
                return 0.15 * AREA * 1.08 ** (year - 1)
            # A roof that lasts longer than usual ages slower, a recover of 0.9 of it faster.
            return first * AREA * (1 + growth) ** ((year - begun - 1) / slower[begun])

        return keeping

    laid, other = retrofitted()
    rooms = 0.05 * DISRUPTION * AREA * M2
    # New panels are 0.6 of the price; the rest of it stays.
    built = [(0, {"laid": 0.6 * laid, "below": 0.4 * laid, "other": other + rooms}, 40)]
    service = [(y, 0.4 * AREA) for y in (15, 30) if y < years]
    # Five years are left of the roof when its finish is due: 5 of 35/4, so 4/7 of it is done.
    service += [(35, 2.0 * AREA * 4 / 7)] if years > 35 else []
    yield (
        base,
        *cheaper(
            [
                walked(base, each, of_membrane(0.03, 0.1, each, 20), economics)
                for each in membranes(6.0, 20, "epdm-black", 2, years)
            ],
            rate,
        ),
    )

    def kept(year, begun):
        return (0.02 + 0.01 * 1.05 ** (year - 1)) * AREA

    yield metal, *walked(metal, built, kept, economics, service)
    found = [
        walked(coated, each, of_membrane(0.3 * M2, 0.08, each, 19), economics)
        for each in membranes(6.0, 19, "tpo-white", 8, years)
    ]
    coat = 3.0 * AREA * (1 + ON_COSTS) + WARRANTY * M2 * AREA
    for flow, work, _ in found:
        flow[0], work[0] = flow[0] + coat, work[0] + coat
    yield coated, *cheaper(found, rate)


def present(flow, rate):
    return sum(amount / (1 + rate) ** year for year, amount in enumerate(flow))


@pytest.fixture(scope="module", params=VARIANTS.values(), ids=VARIANTS)
def walk(request, demo):
    """The answer of a variant of the demo, its economics, its real rate and its three walks."""
    document = copy.deepcopy(demo)
    document["economics"] |= request.param
    document["uncertainty"]["draws"] = 0
    found, economics = compare(load_case(document).case), document["economics"]
    rate = economics["discount_rate"]
    if economics["rate_kind"] == "nominal":
        rate = (1 + rate) / (1 + economics["inflation"]) - 1
    return economics, rate, list(three(found, economics, rate))


def test_costs_by_year_and_life_cycle_cost(walk):
    economics, rate, walks = walk
    for found, flow, _, residual in walks:
        assert found.cash_flow == pytest.approx(flow, rel=1e-9, abs=1e-6)
        assert found.residual_value == pytest.approx(residual, rel=1e-9, abs=1e-6)
        cost = present(flow, rate)
        assert found.life_cycle_cost == pytest.approx(cost, rel=1e-9)
        annuity = sum((1 + rate) ** -year for year in range(1, economics["study_period"] + 1))
        assert found.equivalent_annual_cost == pytest.approx(cost / annuity, rel=1e-9)


def test_measures(walk):
    """The ratio by NIST Handbook 135: all capital work less residual value is the investment."""
    economics, rate, ((_, base, base_work, base_left), *others) = walk
    years = economics["study_period"]
    prices = 1 + economics.get("inflation", 0.0) * (economics["rate_kind"] == "nominal")
    for found, flow, work, left in others:
        saving = [one - other for one, other in zip(base, flow, strict=True)]
        net = present(saving, rate)
        extra = present([o - b for o, b in zip(work, base_work, strict=True)], rate)
        extra -= (left - base_left) * (1 + rate) ** -years
        measures = found.measures
        assert measures.net_savings.value == pytest.approx(net, rel=1e-9)
        ratio = measures.savings_to_investment_ratio.value
        assert (ratio is None) == (extra <= 0)
        if ratio is not None:
            assert ratio == pytest.approx((net + extra) / extra, rel=1e-9)
            adjusted = (1 + rate) * ratio ** (1 / years) * prices - 1 if ratio > 0 else None
            assert measures.adjusted_internal_rate_of_return.value == pytest.approx(adjusted)
        first = next(year for year, cost in enumerate(work) if cost)
        per_dollar = net / (work[first] * (1 + rate) ** -first)
        assert measures.savings_per_dollar.value == pytest.approx(per_dollar, rel=1e-9)
        for payback, at in ((measures.simple_payback, 0.0), (measures.discounted_payback, rate)):
            so_far = [present(saving[: year + 1], at) for year in range(years + 1)]
            behind = [year for year, saved in enumerate(so_far) if saved < 0]
            last = behind[-1] + 1 if behind else 0
            assert payback.value == (last if last <= years and net >= 0 else None)


def test_after_tax(walk):
    """Written off over 39 years from the next January, half a month less; the sale taxed."""
    economics, rate, walks = walk
    if "tax" not in economics:
        assert all(found.after_tax is None for found, *_ in walks)
        return
    years, prices = economics["study_period"], 1 + economics["inflation"]
    shares = [11.5 / 12 / 39, *[1 / 39] * 38, 0.5 / 12 / 39]
    for found, flow, work, residual in walks:
        after, unwritten = list(flow), 0.0
        for year, cost in enumerate(work):
            after[year] -= economics["tax"]["rate"] * (flow[year] - cost)
            for later, share in enumerate(shares, start=year + 1):
                part = cost * prices**year * share
                if later <= years:
                    after[later] -= economics["tax"]["rate"] * part / prices**later
                else:
                    unwritten += part / prices**years
        # The running costs above took the residual value off once: the sale is income, less
        # what is not written off yet.
        after[years] -= economics["tax"]["rate"] * unwritten
        assert found.after_tax.life_cycle_cost == pytest.approx(present(after, rate), rel=1e-9)
        assert residual >= 0
