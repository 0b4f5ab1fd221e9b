"""Every table of the page, by row and column, against the API's own reply."""

import copy
import csv
import io
import re
import types
from html import unescape
from html.parser import HTMLParser
from itertools import pairwise
from operator import mul

import pytest

from lcc.case.document_values import capital
from web import charts, pages
from web import format as fmt
from web.answer_tables import amount
from web.charts import payback as payback_chart
from web.quantities_table import BY_PART

ABSOLUTE = {
    "Spent today": ("first_cost", "money"),
    "Life-cycle cost, present value": ("life_cycle_cost", "money"),
    "Equivalent uniform annual cost": ("equivalent_annual_cost", "money"),
    "Cost per ft² and year": ("yearly_cost", "price_per_area"),
    "Residual value in the last year, not discounted": ("residual_value", "money"),
}
AGAINST = {
    "Net savings": ("net_savings", "money", ""),
    "Savings-to-investment ratio": ("savings_to_investment_ratio", "ratio", ""),
    "Net savings per dollar of the first work": ("savings_per_dollar", "ratio", ""),
    "Adjusted internal rate of return": ("adjusted_internal_rate_of_return", "rate", ""),
    "Internal rate of return": ("internal_rate_of_return", "rate", ""),
    "Simple payback": ("simple_payback", "years", " years"),
    "Discounted payback": ("discounted_payback", "years", " years"),
}
ENERGY = {
    "Cooling, kWh": ("cooling_electricity", "electricity"),
    "Heating, electric, kWh": ("heating_electricity", "electricity"),
    "Heating, gas, therm (US)": ("gas", "gas_energy"),
    "Highest cooling load, kW": ("peak_cooling", "power"),
    "Cooling plant, hot day, kW": ("design_cooling", "power"),
    "Hottest roof face, °F": ("peak_surface", "temperature"),
    "CO₂, lb": ("emissions", "mass"),
    "Highest indoors, °F": ("peak_indoor", "temperature"),
    "Mean indoors, °F": ("mean_indoor", "temperature"),
}
MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
MONTHLY = {
    "Cooling by month": ("cooling_electricity", "electricity"),
    "Heating by month": ("gas", "gas_energy"),
    "Heating by month, electric": ("heating_electricity", "electricity"),
}
DEW = {"Below the dew point": "hours_below_dew_point", "Wet": "hours_wet",
       "Longest wet spell": "longest_wet_spell"}  # fmt: skip


class Sheet(HTMLParser):
    """Tables by caption as rows of (text, note), and the key figures; buttons are left out."""

    def __init__(self, html):
        super().__init__()
        self.tables, self.keys, self.rows = {}, [], []
        self.cell, self.note, self.tag, self.aside = None, "", "", 0
        self.words = ""
        self.feed(html)

    def handle_starttag(self, tag, attrs):
        """Begin a table, a row or a cell."""
        if tag == "table":
            self.rows = []
        elif tag == "tr":
            self.rows.append([])
        elif tag in ("td", "th", "caption", "dt", "dd"):
            self.cell, self.note = "", ""
        self.aside += tag in ("button", "svg")
        self.tag = tag

    def handle_data(self, data):
        """Take the text of a cell, or of the note in it."""
        self.words += data
        if self.cell is None or self.aside:
            return
        if self.tag == "small":
            self.note += data
        else:
            self.cell += data

    def handle_endtag(self, tag):
        """Put a finished cell in its place."""
        self.aside -= tag in ("button", "svg")
        if tag not in ("td", "th", "caption", "dt", "dd"):
            return
        found = (" ".join(self.cell.split()), " ".join(self.note.split()))
        if tag == "caption":
            self.tables.setdefault(found[0], []).append(self.rows)
        elif tag in ("dt", "dd"):
            self.keys.append(found)
        else:
            self.rows[-1].append(found)
        self.cell = None

    def table(self, caption):
        """The texts of the one table of a caption, notes left out."""
        (rows,) = self.tables[caption]
        return [[text for text, _ in row] for row in rows]


def _losing(document):
    """One retrofit that is too dear on a roof that could go on cheaply."""
    document["alternatives"] = document["alternatives"][:1]
    document["alternatives"][0]["price"] = 30.0
    document["base_case"] |= {"service_life": 25.0, "price": 4.0}
    document["economics"]["study_period"] = 30


def _heated(document):
    """A building in the cold that nothing cools, heated by a heat pump."""
    document["site"]["climate"] = "minneapolis-mn"
    document["building"] = {"use": "warehouse-heated", "equipment": {"heating": "heat-pump"}}


def _lent(document):
    """The demo by loan, taxed, with metal deducted at once."""
    document["economics"] |= {
        "tax": {"rate": 0.27, "expensing": "metal", "partial_disposition": True},
        "financing": {"how": "loan", "years": 12},
    }


CASES = {"demo": lambda document: None, "losing": _losing, "heated": _heated, "lent": _lent}


@pytest.fixture(scope="module", params=CASES)
def seen(request, web_app):
    """A case as the API answers it and as the page shows it."""
    document = copy.deepcopy(pages.demo())
    CASES[request.param](document)
    client = web_app.test_client()
    reply = client.post("/v1/comparisons", json=document).json
    live = client.post("/answer", json=document).json
    return types.SimpleNamespace(
        key=request.param, reply=reply, roofs=reply["alternatives"], live=live,
        html=live["html"], page=Sheet(live["html"]),
        names=[one["name"] for one in reply["alternatives"]],
    )  # fmt: skip


def _typical(roof):
    return max(roof["energy"], key=lambda year: len(year["years"]))


def _states(seen):
    """The roof of today, where it does not stay, and every alternative in most years."""
    today = seen.roofs[0]["energy"][0]
    named = [(roof["name"], _typical(roof)) for roof in seen.roofs]
    return named if today == named[0][1] else [("Roof as it is today", today), *named]


def _best(seen):
    return min(seen.roofs[1:], key=lambda roof: roof["life_cycle_cost"])


def _bill(year):
    return year["electricity_cost"] + year["demand_cost"] + year["gas_cost"]


def _measure(roof, name, kind, ending):
    if roof["measures"] is None:
        return "", ""
    found = roof["measures"][name]
    ending = ending if found["value"] is not None else ""
    # Against what, discounted or not; beside which discount rate.
    how = found["convention"] if "payback" in name or kind == "rate" else ""
    return fmt.shown(found["value"], kind) + ending, found["reason"] or found["warning"] or how


def test_measures(seen):
    """Each figure with its note, which stands once in the list below the table."""
    (found,) = seen.page.tables["Measures of each alternative"]
    below = re.search(r'<ol class="hint notes">(.*?)</ol>', seen.html)
    notes = [unescape(one) for one in re.findall("<li>(.*?)</li>", below[1] if below else "")]
    expected = [[("Measure", ""), *((name, "") for name in seen.names)]]
    for label, (name, kind) in ABSOLUTE.items():
        expected.append([(label, ""), *((fmt.shown(r[name], kind), "") for r in seen.roofs)])
    for label, (name, kind, ending) in AGAINST.items():
        expected.append([(label, ""), *(_measure(r, name, kind, ending) for r in seen.roofs)])
    if seen.roofs[0]["after_tax"]:
        for label, name in (("Life-cycle cost after tax", "life_cycle_cost"),
                            ("Net savings after tax", "net_savings")):  # fmt: skip
            cells = ((fmt.shown(r["after_tax"][name], "money"), "") for r in seen.roofs)
            expected.append([(label, ""), *cells])
    told = dict.fromkeys(note for row in expected for _, note in row if note)
    assert notes == [f"{note[0].upper()}{note[1:]}." for note in told]
    marks = {note: f"note {place}" for place, note in enumerate(told, 1)} | {"": ""}
    assert found == [[(text, marks[note]) for text, note in row] for row in expected]


def _of_hundred(share):
    """Only never is none, and only always is all."""
    hundred = round(100 * share)
    if hundred in (0, 100) and 0 < share < 1:
        return "less than 1 of 100" if hundred == 0 else "more than 99 of 100"
    return f"{hundred} of 100"


def _money(value):
    return fmt.shown(float(f"{abs(value):.3g}"), "money")


# What turns an answer and the draws do not vary, by a word of it, and what they then assume.
ASSUMED = {"official": "the building official asks for nothing more",
           "take-off": "the price entered is the right one"}  # fmt: skip


def _draws_assume(seen, best, count, note):
    """The card of the draws says what they do not vary and what would turn the answer."""
    turns = {one["what"] for one in seen.reply["turning"]["choices"]
             if one["alternative"] == best["name"]}  # fmt: skip
    assumed = [held for word, held in ASSUMED.items() if any(word in one for one in turns)]
    runs = "random runs, before tax" if best["after_tax"] else "random runs"
    taxed = seen.page.words.count("before tax") >= 5  # cards, chart and how sure
    assert (
        taxed == payback_chart.title(seen.reply).endswith("before tax") == bool(best["after_tax"])
    )
    assert count == _of_hundred(best["spread"]["against_base"]["costs_less"])
    assert note.startswith(f"{runs}, {'if ' if assumed else 'prices and lives varied'}")
    assert all(held in note for held in assumed)


def test_key_figures(seen):
    """The four cards, from the reply's own costs, draws and phases."""
    base, best = seen.roofs[0], _best(seen)
    costs = [roof["life_cycle_cost"] for roof in (best, base)]
    years, payback = len(base["cash_flow"]) - 1, best["payback"]
    saved = costs[1] - costs[0]
    keys = dict(zip(*[iter(seen.page.keys)] * 2, strict=True))
    metal = [roof for roof in seen.roofs if roof["kind"] == "metal-retrofit"] == [best]
    of = "Metal roof: " if metal else f"{best['name'][:1].upper()}"
    assert all(label.startswith(of) for label, _ in keys)  # each card can be read alone
    short = re.compile("[^:]*: ")
    keys = {short.sub("", label, count=1).capitalize(): card for (label, _), card in keys.items()}
    assert keys[f"{'Less' if saved > 0 else 'More'} over {years} years"] == (
        f"about {_money(saved)}",
        "{} against {}, today’s money".format(*fmt.side_by_side(*costs))
        + ", before tax" * bool(best["after_tax"]),
    )
    assert f"“{best['name']}” against “{base['name']}”:" * (len(seen.roofs) > 2) in seen.page.words
    dearer = best["cumulative_present_value"][0] > base["cumulative_present_value"][0]
    ahead = "Ahead" + " for good" * (payback["clear_from"] == payback["year"])
    never, year = payback["year"] is None, f"year {payback['year']}"
    paid, note = keys["Pays back" if never else "Paid back" if dearer else ahead]
    assert paid == ("never" if never else year)
    if payback["year"] is not None:
        drawn, low = best["spread"]["against_base"], payback["likely_low"]
        half, high = drawn["payback_p50"]["value"], payback["likely_high"]
        apart = low is not None and (high is None or not low <= payback["year"] <= high)
        if apart and half is not None:
            assert f"in half of the runs by year {half:.0f}" in note
            assert (f"{_of_hundred(1 - drawn['costs_less'])} never" in note) == (high is None)
        else:
            assert payback["likely"] in note
        level = payback["level_from"]
        assert ("level from year" in note) == (level is not None and level < payback["year"])
    _draws_assume(seen, best, *keys["Cheaper in"])
    text, note = keys["Energy"]
    phases, average = (best["energy_by_phase"][name] for name in ("phases", "average"))
    sums = [one["bill_saved"] for one in phases]
    evens_out = min(sums) < 0 < max(sums) and abs(average["bill_saved"]) < 0.05 * max(
        map(abs, sums)
    )
    said = _energy(average)
    assert text == ("about the same" if evens_out else said + " a year" * (said != "the same"))
    assert ("on average" in note) == (not note.endswith("in every year"))
    dated = "the same|\\$[\\d,]+ (?:less|more)"
    spells = re.findall(rf"({dated}) in years? (\d+)(?: to (\d+))?", note)
    closed = [(told, int(first), int(last or first)) for told, first, last in spells]
    for told in re.findall(rf"then (?:about )?({dated})", note):  # to the end of the study
        closed.append((told, closed[-1][2] + 1, years))
    for told, first, last in closed:
        within = [one for one in phases if first <= one["first_year"] and one["last_year"] <= last]
        spans = [one["last_year"] - one["first_year"] + 1 for one in within]
        assert sum(spans) == last - first + 1  # whole phases, no year left out
        sums = [one["bill_saved"] for one in within]
        mean = sum(map(mul, sums, spans)) / sum(spans)
        assert told == _energy({"bill_saved": mean})
        assert max(sums) - min(sums) <= 0.1 * max(map(abs, sums))
    if closed and not note.startswith("on average; best"):
        assert [1, *(last + 1 for *_, last in closed)] == [*(one[1] for one in closed), years + 1]


def _energy(spell):
    saved = spell["bill_saved"]
    amount = _money(saved)
    return "the same" if amount == "$0" else f"{amount} {'less' if saved > 0 else 'more'}"


def test_one_saving_leads_and_every_other_has_its_one_place(seen):
    """Beside the headline no ratio and no rate of return; after tax one sentence, not two.

    The saving of the headline, three digits, is repeated on the first card alone; the exact one
    and what is made of it (per dollar, ratios, rates) are rows of the table of measures alone.
    """
    answer, best = seen.reply["answer"], _best(seen)
    first, rest = seen.html.split("The same in figures", 1)
    assert "Net savings" in rest
    for word in ("savings-to-investment", "rate of return", "per dollar of", "net savings"):
        assert word not in first.lower()
    saved = _money(seen.roofs[0]["life_cycle_cost"] - best["life_cycle_cost"])
    assert (saved in answer["headline"]) == ("$" in answer["headline"])
    assert seen.page.keys[1][0] == f"about {saved}"
    others = (found for caption, found in seen.page.tables.items() if "Measures" not in caption)
    labels = {row[0][0] for tables in others for table in tables for row in table}
    assert not labels & set(AGAINST)
    told = (*answer["disagreements"], *answer["reasons"])
    taxed = [one for one in told if re.search("[Aa]fter (income )?tax", one)]
    assert len([one for one in taxed if not one.startswith("The tax choices")]) == bool(
        best["after_tax"]
    )


def test_scope(seen):
    """Each duty of each alternative: its cost where it is done, else why it is not."""
    head, *rows = seen.page.table("What each price includes, and what it does not")
    assert head == ["Work", *seen.names]
    assert [row[0] for row in rows] == [row["duty"] for row in seen.reply["scope"]]
    for cells, row in zip(rows, seen.reply["scope"], strict=True):
        for cell, one in zip(cells[1:], row["alternatives"], strict=True):
            if one["status"] == "done":
                sums = [fmt.shown(one[key], "money") for key in ("first_cost", "cost") if one[key]]
                assert re.findall(r"\$[\d,]+", cell) == list(dict.fromkeys(sums))
                assert (cell == "included") == (not sums)
                assert ("first job" in cell) == bool(one["first_cost"])
                assert ("all years" in cell) == (len(set(sums)) == 2)
            else:
                priced = f"{fmt.shown(one['cost'], 'money')}, " if one["cost"] else ""
                assert cell.startswith(priced + one["status"].replace("-", " "))
                assert cell.endswith(one["reason"])


def test_energy_by_phase(seen):
    saved = _best(seen)["energy_by_phase"]
    rows = seen.page.table("Energy saved while each base roof is in place")[1:]
    kinds = {"bill_saved": "money", "electricity_saved": "electricity", "gas_saved": "gas_energy"}
    assert rows == [
        [one["what"], *(fmt.shown(one[name], kind) for name, kind in kinds.items())]
        for one in (*saved["phases"], saved["average"])
    ]


def test_how_it_is_paid(seen):
    """Only where it is entered; every row by its member of the reply."""
    if seen.key != "lent":
        assert {"How it is paid", "After income tax"}.isdisjoint(seen.page.tables)
        return
    head, *rows = seen.page.table("How it is paid")
    paid = [roof["financed"] for roof in seen.roofs]
    assert head[1:] == seen.names
    members = ("paid_at_once", "financed", "monthly_payment", "last_monthly_payment",
               "total_interest", "due_later", "more_than_cash")  # fmt: skip
    assert [row[1:] for row in rows[:7]] == [
        [fmt.shown(one[name], "money") for one in paid] for name in members
    ]
    assert [row[1:] for row in rows[7:]] == [[fmt.shown(p["ahead_from"], "count") for p in paid]]
    assert all(one["sentence"] in " ".join(seen.page.words.split()) for one in paid)


def test_after_income_tax(seen):
    if seen.key != "lent":
        return
    _, *rows = seen.page.table("After income tax")
    for place, roof in enumerate(seen.roofs[1:], 1):
        expected = (roof["measures"]["net_savings"]["value"], roof["after_tax"]["net_savings"],
                    roof["after_tax"]["net_savings_by_line"])  # fmt: skip
        assert [row[place] for row in rows] == [fmt.shown(one, "money") for one in expected]
    words = " ".join(seen.page.words.split())
    assert "Income tax rate: 27%; deducted at once under section 179: metal; a roof that" in words


def test_when_to_begin(seen):
    begun = [roof["starting_years"] for roof in seen.roofs[1:] if roof["starting_years"]]
    if len(begun[0]["years"]) == 1:
        assert "When to begin" not in seen.page.tables
        return
    _, *rows = seen.page.table("When to begin")
    for place, year in enumerate(begun[0]["years"]):
        amounts = [one["net_savings"][place] for one in begun] + [begun[0]["leak_risk"][place]]
        assert rows[place] == [str(year), *(fmt.shown(one, "money") for one in amounts)]


def test_energy_in_a_typical_year(seen):
    head, *rows = seen.page.table("Energy in a typical year")
    states = [one for one in _states(seen) if one[0] == "Roof as it is today"]
    for roof in seen.roofs:
        today, longest = seen.roofs[0]["energy"][0], _typical(roof)
        lasts = [year for year in roof["energy"]
                 if year is longest or (len(year["years"]) > 1 and year is not today)]  # fmt: skip
        for year in lasts:
            spell = f", years {year['years'][0]} to {year['years'][-1]}" * (len(lasts) > 1)
            states.append((roof["name"] + spell, year))
    assert [row[0] for row in rows] == [name for name, _ in states]
    assert {"Heating and cooling bill", "CO₂, lb"} <= set(head)
    for place, title in enumerate(head[1:], 1):
        column = [row[place] for row in rows]
        if title == "Heating and cooling bill":
            assert column == [fmt.shown(_bill(year), "money") for _, year in states]
        elif "indoors, h" in title:
            assert column == [fmt.shown(year["hours_above_85f"], "hours") for _, year in states]
        else:
            name, kind = ENERGY[title]
            assert column == [fmt.shown(year[name], kind) for _, year in states], title


def _works(seen):
    """What is spent on each roof in each year: (year, roof, what, cost), by year."""
    for place, roof in enumerate(seen.roofs):
        for year in sorted({event["year"] for event in roof["events"]}):
            events = [event for event in roof["events"] if event["year"] == year]
            events.sort(key=lambda event: (event["duty"] != "covering", -event["cost"]))
            cost = fmt.shown(sum(event["cost"] for event in events), "money")
            named = (event["what"].removesuffix(", other work") for event in events)
            what = "; ".join(dict.fromkeys(named))  # a fee in two parts has its name once
            yield year, place, roof["name"], what, events[0]["why"], cost


def test_programme_of_the_page(seen):
    works = sorted(_works(seen))
    expected = [[str(year), name, cost, what, why] for year, _, name, what, why, cost in works]
    assert seen.page.table("When each job comes")[1:] == expected


def test_spent_so_far(seen):
    head, *rows = seen.page.table(payback_chart.title(seen.reply))
    assert head == ["Year", *seen.names]
    lines = [roof["cumulative_present_value"] for roof in seen.roofs]
    assert rows == [
        [str(year), *(fmt.shown(cost, "money") for cost in costs)]
        for year, costs in enumerate(zip(*lines, strict=True))
    ]


def test_where_the_money_goes(seen):
    head, *rows = seen.page.table("Where the money goes")
    assert head == ["Present value", *seen.names]
    costs = [{c["name"]: c["present_value"] for c in roof["costs"]} for roof in seen.roofs]
    large = {name for line in costs for name in line if abs(line[name]) >= 0.5}
    *rows, total = rows
    assert total[1:] == [fmt.shown(roof["life_cycle_cost"], "money") for roof in seen.roofs]
    assert {row[0] for row in rows} == large
    for name, *cells in rows:
        assert cells == [fmt.shown(line.get(name, 0.0), "money") for line in costs]


def test_what_could_turn_the_answer(seen):
    """Inputs that turn the answer, then the pair, then study periods; one row if none does."""
    head, *rows = seen.page.table("What would flip the answer, nearest first")
    assert len(head) == 4
    turned, units = seen.reply["turning"], seen.reply["units"]
    saved = seen.roofs[0]["life_cycle_cost"] - _best(seen)["life_cycle_cost"]
    periods = [one for one in turned["study_periods"] if one["net_savings"] * saved < 0]
    named = [one for one in turned["choices"] if one["alternative"] == turned["alternative"]]
    figures = len(rows) - len(periods) - len(named)
    for row, one in zip(rows[max(figures, 0) :] if periods + named else [], periods + named,
                        strict=True):  # fmt: skip
        what = one.get("what") or f"{one['study_period']} years counted"
        assert row[0] == capital(what)
        assert row[2] == f"net savings {fmt.shown(one['net_savings'], 'money')}"
    inputs = rows[:figures]
    pair = turned["pair"]
    told = [[one] for one in turned["inputs"]] + ([[pair["first"], pair["second"]]] if pair else [])
    if not told + periods + named:
        assert inputs == [["No input within its range", *[fmt.NOTHING] * 3]]
        return
    for row, group in zip(inputs, told, strict=True):
        assert row[0] == " together with ".join(one["label"] for one in group)
        whole = {swing["label"]: swing for swing in _best(seen)["swings"]}
        told = (_cost({**whole[one["label"]], **one}, "value") for one in group)
        assert row[2] == "; ".join(amount(value, units) for value in told)


def _cost(one, end):
    """What is not known of the roof is shown by what it costs, never as a share of it."""
    worst = abs(one["net_savings_high"] - one["net_savings_low"])
    share = one[end]["kind"] == "fraction"
    return {"value": worst * one[end]["value"], "kind": "money"} if share else one[end]


def test_what_would_change_the_answer(seen):
    rows = seen.page.table("What moves the net savings most")[1:]
    units = seen.reply["units"]
    assert rows == [
        [one["label"], amount(_cost(one, "low"), units), fmt.shown(one["net_savings_low"], "money"),
         amount(_cost(one, "high"), units), fmt.shown(one["net_savings_high"], "money")]
        for one in _best(seen)["swings"][: len(rows)]
    ]  # fmt: skip
    assert len(rows) == min(8, len(_best(seen)["swings"]))


def test_how_sure_it_is(seen):
    against = _best(seen)["spread"]["against_base"]
    parts = (("p10", "10%"), ("p50", "50%"), ("p90", "90%"))
    below = [
        ["Below", fmt.shown(against["net_savings"][key], "money"), part] for key, part in parts
    ]
    edges = [fmt.shown(edge, "money") for edge in against["edges"]]
    shares = map(fmt.chance, against["shares"])
    steps = [[*ends, share] for ends, share in zip(pairwise(edges), shares, strict=True)]
    assert seen.page.table("How sure it is")[1:] == below + steps


def test_dew_under_the_panel(seen):
    head, *rows = seen.page.table("Dew under the metal panel")
    damp = {r["name"]: _typical(r)["condensation"] for r in seen.roofs}
    damp = {name: found for name, found in damp.items() if found}
    assert head == ["Hours in a year", *damp]
    assert rows == [
        [label, *(fmt.shown(found[key], "hours") for found in damp.values())]
        for label, key in DEW.items()
    ]


def test_energy_by_month(seen):
    states = _states(seen)
    used = {title: facts for title, facts in MONTHLY.items() if any(y[facts[0]] for _, y in states)}
    found = {
        title: table
        for title in ("Cooling by month", "Heating by month")
        for table in seen.page.tables.get(title, [])
    }
    assert len(found) == len(used) > 0
    for title, (name, kind) in used.items():
        head, *rows = seen.page.table(title.removesuffix(", electric"))
        assert head[1:] == [name for name, _ in states]
        years = [year["monthly"][name] for _, year in states]
        assert rows == [
            [month, *(fmt.shown(year[place], kind) for year in years)]
            for place, month in enumerate(MONTHS)
        ]


def test_the_hot_day(seen):
    head, *rows = seen.page.table("Heat through the roof on a hot day")
    lines = {roof: year["hot_day"]["roof_flux"] for roof, year in _states(seen)}
    assert head[1:] == list(lines)
    assert rows == [
        [str(hour), *(fmt.shown(line[hour], "flux") for line in lines.values())]
        for hour in range(24)
    ]


def test_quantities_of_a_survey(seen):
    costs = [roof["quantities"]["first_cost"] for roof in seen.roofs[1:] if roof["quantities"]]
    found = seen.page.tables.get("First cost", [])
    assert len(found) == len(costs)
    for table, cost in zip(found, costs, strict=True):
        assert [(row[0][0], row[3][0]) for row in table[1:]] == [
            *(
                (
                    f"{line['name']} ({line['marks']})" if line["marks"] else line["name"],
                    fmt.shown(line["cost"], "money"),
                )
                for line in cost["lines"]
            ),
            ("Build-up of this plan", fmt.shown(cost["build_up"], "money")),
        ]


def test_load_on_the_old_roof_of_each_part(seen):
    found = [roof["quantities"]["part_loads"] for roof in seen.roofs[1:] if roof["quantities"]]
    tables = seen.page.tables.get(BY_PART, [])
    assert len(tables) == len(found)
    names = ("plan_area", "added", "load", "removed", "net_load")
    for (_, *rows), parts in zip(tables, found, strict=True):
        assert [[cell for cell, _ in row] for row in rows] == [
            [str(one["rectangle"]), *(fmt.shown(one[name]) for name in names)] for one in parts
        ]


def test_assumptions(seen):
    """Every figure of the reply stands under its label with its own value."""
    rows = seen.page.table("Every figure the result rests on, by its source")[1:]
    told = [(row[0], row[1]) for row in rows if len(row) == 2]
    for one in seen.reply["assumptions"]:
        if isinstance(one["value"], int | float) and ".unit_prices." not in one["field"]:
            start, _ = fmt.read(one["value"], one["kind"], seen.reply["units"])
            values = [value for label, value in told if label.endswith(one["label"])]
            assert any(value.startswith(start) for value in values), one["field"]


def test_no_table_is_left_unread(seen):
    """Whatever table is added must be read here too."""
    read = {
        "Measures of each alternative", "Energy in a typical year", "When each job comes",
        payback_chart.title(seen.reply), "Where the money goes",
        "What moves the net savings most", "What would flip the answer, nearest first",
        "How sure it is",
        "Dew under the metal panel",
        "What each price includes, and what it does not",
        "How it is paid", "After income tax", "When to begin",
        "Cooling by month", "Heating by month", "Energy saved while each base roof is in place",
        "Heat through the roof on a hot day",
        "First cost", BY_PART, "Every figure the result rests on, by its source",
    }  # fmt: skip
    survey = {"Areas", "Framing and panels", "Edges and walls", "Cavity and its openings",
              "Lifts, tear-out and crane", "Added dead load",
              "Trims and walls by part and edge"}  # fmt: skip
    assert set(seen.page.tables) - survey <= read


def _drawn(figure):
    """A chart's own numbers as its table tells them: {(row, column): text}."""
    place, number, kind = DRAWN[figure.key]
    rows = figure.data[figure.key.replace("-", "_")]
    names = {one.id: one.name for one in figure.series}
    return {(str(row[place]), names[row["series"]]): fmt.shown(row[number], kind) for row in rows}


DRAWN = {"payback": ("year", "cost", "money"), "heat-flow": ("hour", "value", "flux")}


def test_a_charts_table_is_the_charts_own_data(seen):
    """Row by row and column by column, from the numbers that the marks are placed by."""
    figures = charts.figures(seen.reply)
    assert {figure.key for figure in figures} <= {*DRAWN, "spread"}
    for figure in figures:
        assert seen.live["charts"][figure.key]["data"] == figure.data
        if figure.key in DRAWN:
            head, rows = figure.table.columns[1:], figure.table.rows
            cells = {
                (row[0], name): cell
                for row in rows
                for name, cell in zip(head, row[1:], strict=True)
            }
            assert _drawn(figure).items() <= cells.items(), figure.key
            assert f'"{DRAWN[figure.key][1]}"' in re.sub(r"'", '"', str(figure.spec))


def test_the_table_of_draws_is_in_the_order_of_its_data(seen):
    spread = {figure.key: figure for figure in charts.figures(seen.reply)}["spread"]
    marks, steps = spread.data["spread_marks"], spread.data["spread"]
    assert [row[1] for row in spread.table.rows[:3]] == [
        fmt.shown(row["value"], "money") for row in marks
    ]
    assert [row[:2] for row in spread.table.rows[3:]] == [
        (fmt.shown(row["from"], "money"), fmt.shown(row["to"], "money")) for row in steps
    ]


def test_sentences_round_as_the_tables_do(seen):
    """Hours of dew, chances and rates read alike wherever they are shown."""
    page = " ".join(re.sub(r"<svg.*?</svg>|<[^>]+>", " ", seen.html, flags=re.S).split())
    dew = [_typical(roof)["condensation"] for roof in seen.roofs]
    hours = {fmt.shown(one["hours_below_dew_point"], "hours") for one in dew if one}
    assert set(re.findall(r"below the dew point for ([\d,]+) hours", page)) <= hours
    chance = fmt.chance(_best(seen)["spread"]["against_base"]["costs_less"])
    assert f"in {chance} of 10,000 random runs" in page
    told = {"0%": "none", "100%": "every one"}.get(chance, chance)
    assert f"costs less in {told} of these runs;" in seen.reply["verdict"]
    assert re.findall(r"(?<![\w.\d)])-\$?\d", page) == []


def test_a_portfolios_table_holds_the_documents_figures(page_client):
    """Each cell of the CSV is the JSON's figure of that row and that column."""
    demo = page_client.get("/v1/portfolios/demo").text.splitlines()[:6]
    sent = {"data": "\n".join(demo), "content_type": "text/csv"}
    document = page_client.post("/v1/portfolios", headers={"Accept": "application/json"}, **sent)
    table = page_client.post("/v1/portfolios", headers={"Accept": "text/csv"}, **sent)
    rows = list(csv.DictReader(io.StringIO(table.text.removeprefix("\ufeff"))))
    results = document.json["results"]
    assert len(rows) == len(results) == 5
    left = [set(result["defaults"].split("; ")) for result in results]
    shared = set.intersection(*left)  # what all roofs leave open stands once, below the table
    assert any(own - shared for own in left)
    numbers = 0
    for row, result in zip(rows, results, strict=True):
        for name, cell in row.items():
            value = result.get(name)
            if name == "defaults":
                assert set(cell.split("; ")) - {""} == set(value.split("; ")) - shared
            elif isinstance(value, float | int) and not isinstance(value, bool):
                numbers += 1
                assert float(cell) == value, name
            elif isinstance(value, str):
                assert cell == value, name
    assert numbers > 5 * 10
