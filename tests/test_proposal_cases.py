"""Whatever case an owner brings: a letter of two pages, nothing cut, every figure as answered."""

import copy
import functools
import itertools
import json
import os
import re
import subprocess
import sys
from pathlib import Path

import page
import pytest

from api import service
from lcc.comparison import compare
from lcc.cost.takeoff_price import at_takeoff
from lcc.figures import said, shown
from web.charts.jobs import jobs
from web.format import brief, read, side_by_side
from web.proposal import document as printed
from web.proposal import payback_drawing
from web.proposal.cut_names import shortened
from web.proposal.typesetting import printable

DEMO = json.loads((Path(__file__).parents[1] / "data/demo/case.json").read_text(encoding="utf-8"))
SCRIPTS = "משרד العربية 学校 "
LONG = "A roof that is described in as many words as its field takes, and then some more of them. "
MARKUP = '#import "/etc/passwd": * $x$ *b* _i_ <a> @b `c` \\ = // [ ] { } '
PARTIES = {
    "company": "Example Roofing (invented) " + "and Partners " * 4,
    "company_address": "1 Sample Street, Springfield, telephone 555 0100 " * 2,
    "licence": "L-000000", "owner": "Unified School District of an Invented Place",
    "owner_address": "2 Sample Street " * 7, "address": "3 Sample Street " * 7,
    "number": "2027-014", "date": "2027-04-01", "valid_until": "2027-07-01",
    "includes": "\n".join(["- an item that is included in the price"] * 12),
    "excludes": "Whatever is not named. " * 25, "terms": "Payment in thirty days. " * 49,
}  # fmt: skip


def _crowded(count, years=50, letters=0, life=16, filler=LONG):
    """So many alternatives over so many years, with names of so many letters."""
    made = copy.deepcopy(DEMO)
    kinds = [*made["alternatives"], {"kind": "membrane", "start": "now", "service_life": life}]
    made["alternatives"] = [copy.deepcopy(kinds[place % 3]) for place in range(count)]
    made["economics"]["study_period"] = years
    made["base_case"]["service_life"] = life
    for place, one in enumerate([made, made["base_case"], *made["alternatives"]]):
        own = f"{place} {200 * filler}"[:letters].strip()
        one["name"] = own or one.get("name", f"Roof {place}")
    return made


def _layered():
    made = copy.deepcopy(DEMO)
    layer = {"thickness": 0.4, "conductivity": 0.6, "density": 10.0, "specific_heat": 0.2}
    for one in (made["roof"], made["alternatives"][0]):
        one["layers"] = [{**layer, "density": 10.0 + n} for n in range(40)]
    del made["alternatives"][0]["framing"]
    made["alternatives"][0]["cavity"] = {"mean_height": 3.0}
    return made


def _blank():
    """The least that can be asked: a climate, a roof, and the defaults."""
    roof = {name: DEMO["roof"][name] for name in ("area", "covering", "layers")}
    return {"units": "ip", "site": DEMO["site"], "roof": roof}


def _surveyed():
    """A school of three parts with valley, step, hip and parapet, framed, its price entered."""
    made = copy.deepcopy(DEMO)
    made["roof"].update({"area": 12600, "coverings": 2})
    framing = Path(__file__).parent / "surveyed_school.json"
    made["alternatives"][0]["framing"] = json.loads(framing.read_text(encoding="utf-8"))
    return made


def _assumed():
    """More than 200 assumptions: three surveyed retrofits with prices of their own."""
    made = _crowded(3)
    made["alternatives"] = [copy.deepcopy(DEMO["alternatives"][0]) for _ in range(3)]
    for place, one in enumerate(made["alternatives"]):
        one["name"] = f"Retrofit {place}"
    return made


def _taxed():
    """The metal roof on a loan, and income tax with every choice entered."""
    made = copy.deepcopy(DEMO)
    made["economics"]["financing"] = {"how": "loan", "rate": 0.07, "years": 12}
    made["economics"]["tax"] = {
        "rate": 0.27,
        "month": 6,
        "expensing": "metal",
        "coating_as_repair": True,
    }
    return made


MADE = {
    "demo": lambda: DEMO,
    "blank": _blank,
    "taxed": _taxed,
    "parties": lambda: {**DEMO, "proposal": PARTIES},
    "twenty": lambda: {**_crowded(20, 100, 200, 1), "proposal": PARTIES},
    "one word": lambda: {**_crowded(6, letters=200, filler="W"), "proposal": PARTIES},
    "metric": lambda: service.case_document(service.load_case(DEMO).case, "si"),
    "forty layers": _layered,
    "school": _surveyed,
    "many assumptions": _assumed,
    "other scripts": lambda: {**_crowded(3, letters=60, filler=SCRIPTS),
                              "proposal": {"owner": SCRIPTS, "company": SCRIPTS, "terms": SCRIPTS}},
    "markup": lambda: {**_crowded(2, letters=120, filler=MARKUP),
                       "proposal": dict.fromkeys(("owner", "company", "terms"), MARKUP)},
}  # fmt: skip
HEAVY = {*MADE} - {"demo", "blank", "taxed"}
# Their letters are like those of other cases of the default suite, or of `test_proposal`.
LETTER_ALIKE = {"parties", "metric", "forty layers", "school", "many assumptions", "other scripts",
                "markup"}  # fmt: skip
ACCENTS = 0.15  # of a word's box, above and below its letters
SIDE, TOP, FOOT = 57.0, 40.0, 20.0  # pt, margins that no word enters


def _marked(names, heavy=frozenset(HEAVY)):
    """The cases, the heavy ones for the thorough suite."""
    return [pytest.param(name, marks=[pytest.mark.thorough] * (name in heavy)) for name in names]


@functools.cache
def _document(name):
    return {**MADE[name](), "uncertainty": {"draws": 200}}


@functools.cache
def _answered(name):
    loaded = service.load_case(_document(name))
    return loaded.case, service.comparison_reply(loaded.case, loaded.units, loaded.document)


@functools.cache
def _paper(name, *parts):
    return printed.pdf(*_answered(name), parts)


def _pages(pdf):
    """The words of each page, each with its box from the upper left [pt]."""
    done = subprocess.run(["pdftotext", "-bbox", "-", "-"], input=pdf, capture_output=True,
                          check=True).stdout.decode()  # fmt: skip
    found = []
    for part in done.split("<page ")[1:]:
        words = re.findall(r'xMin="([\d.]+)" yMin="([\d.]+)" xMax="([\d.]+)" yMax="([\d.]+)">(.*)<',
                           part)  # fmt: skip
        found.append([(*map(float, word[:4]), word[4]) for word in words])
    return found


def _squeezed(text):
    """A text without white space and hyphens, so that line ends do not matter."""
    return "".join(str(text).replace("\u200b", "").replace("-", "").split())


def _text(words, name):
    """What is on the paper, without the feet of its pages."""
    foot = printed.document(*_answered(name), ("flags",), "a4")["foot"]
    left, number = (re.escape(_squeezed(printable(part))) for part in foot)
    return re.sub(rf"{left}{number}page\d+of\d+", "", _squeezed(words))


@pytest.mark.parametrize("name", _marked(MADE, LETTER_ALIKE))
def test_the_letter_has_two_pages(name):
    """Further cautions than the second page holds go on, under a title of their own."""
    pages = [" ".join(word[4] for word in words) for words in _pages(_paper(name, "letter"))]
    assert "Annex" not in pages[0]
    assert " Terms " in pages[1]
    assert all("Letter, continued" in page for page in pages[2:3])


@pytest.mark.parametrize("name", _marked(MADE))
def test_no_word_is_outside_the_margins_or_over_another(name):
    """In all parts; accents and rules apart, two words never share room."""
    wide, high = (595.2, 841.8) if name == "metric" else (612, 792)
    for words in _pages(_paper(name, *printed.PARTS)):
        assert words
        for left, top, right, foot, word in words:
            assert SIDE <= left <= right <= wide - SIDE, word
            assert TOP <= top <= foot <= high - FOOT, word
        assert _overlapping(words) == []
    assert _overlapping([(0.0, 0.0, 10.0, 12.0, "a"), (8.0, 2.0, 20.0, 14.0, "b")]) == [("a", "b")]


def _overlapping(page):
    """Pairs of words that touch: boxes without a hair at the sides, and room for accents."""
    found = []
    inner = sorted((left + 0.5, top + ACCENTS * (foot - top), right - 0.5,
                    foot - ACCENTS * (foot - top), word)
                   for left, top, right, foot, word in page if word.strip())  # fmt: skip
    for place, one in enumerate(inner):
        for other in inner[place + 1 :]:
            if other[0] >= one[2]:
                break
            if max(one[1], other[1]) < min(one[3], other[3]):
                found.append((one[4], other[4]))
    return found


@pytest.mark.parametrize("name", _marked(["demo", "forty layers", "other scripts"]))
def test_a_checker_of_pdf_ua_finds_nothing(name):
    """All machine-checkable rules of ISO 14289-1 that an independent checker knows."""
    paper = _paper(name, *printed.PARTS)
    report = page.validate_pdf_bytes(paper, profile=page.ValidationProfile.PDF_UA_1)
    assert [(one.rule_id, one.message) for one in report.failures] == []
    assert report.rules.total > 50
    spoiled = paper.replace(b"/Alt", b"/Att")
    assert page.validate_pdf_bytes(spoiled, profile=page.ValidationProfile.PDF_UA_1).failures


@pytest.mark.parametrize("name", _marked(MADE, LETTER_ALIKE))
def test_the_letter_says_the_answers_own_figures(pdf_text, name):
    """Headline, price, and what each duty costs; letters that the font lacks as squares."""
    _, reply = _answered(name)
    cut = printable(shortened(reply))
    own = cut["alternatives"][1:]
    best = min(own, key=lambda one: one["life_cycle_cost"])
    place = 1 + own.index(best)
    title = {
        "costs-less": "What is proposed",
        "costs-more": "What this letter prices, though it costs more",
        "too-close": "What this letter prices, too close to call",
    }[reply["answer"]["state"]]
    headline = cut["answer"]["headline"]
    if name == "blank":  # few figures and no price of the pair: the page says so too
        headline = f"First guess: {headline[0].lower()}{headline[1:]}"
    told = [headline, f"{title}: {best['name']}"]
    first = [row["alternatives"][place]["first_cost"] for row in reply["scope"]]
    told += [shown(sum(first), "money")]
    words = _text(pdf_text(_paper(name, "letter")), name)
    if name == "blank":  # nothing to agree to: a line to fill in says what is missing
        told += [
            f"Missing before anyone can agree: a price offered by the roofer for {best['name']}"
        ]
        assert "Agreed:" not in words
    assert [one for one in told if _squeezed(one) not in words] == []


def test_the_letter_names_the_quotation_taken_its_grant_and_what_is_left():
    """24,000 ft² at 16.90 of the second bidder, who includes everything, less 60,000 granted."""
    made = copy.deepcopy(_document("demo"))
    del made["origins"], made["roof"]["asbestos"]
    made["proposal"] = {"valid_until": "2027-07-01"}
    metal = made["alternatives"][0]
    del metal["price"], metal["price_includes"]
    bids = [("Harbor", 15.2, "laying"), ("Plains", 16.9, "everything")]
    keys = ("bidder", "price", "price_includes")
    metal |= {"grant": 60000, "quotations": [dict(zip(keys, (*bid[:2], [bid[2]]), strict=True))
                                             for bid in bids]}  # fmt: skip
    loaded = service.load_case(made)
    reply = service.comparison_reply(loaded.case, loaded.units, include=printed.PRINTED)
    told = printed.document(loaded.case, reply, ("letter",), "a4")["parts"][0]
    card, priced = told["cards"][0], told["work"]
    assert (card["text"], card["note"]) == ("$405,600", "today, less a grant of $60,000: $345,600")
    assert "Budget" not in card["mark"] + priced["demo"]
    assert told["agreed"].startswith("Agreed: Metal roof, begun today, for")
    assert told["agreed"].endswith("agree on the year first.") == bool(priced["demo"])
    assert priced["price"] == ("Price $405,600, today, the quotation of Plains, one of 2; less a "
                               "grant of $60,000: $345,600.")  # fmt: skip
    agreed = (
        "for $405,600, with what this letter includes. The price entered holds until July 1, 2027."
    )
    assert agreed in told["agreed"]
    held, without = (one["text"] for one in told["included"])
    assert held == "Entered as the price of the whole job."  # which names no single duty
    assert without.startswith("Open questions, to be confirmed in writing: Abate asbestos")
    bids = [(*bid[:2], [bid[2], "asbestos"]) for bid in bids]
    metal["quotations"] = [dict(zip(keys, bid, strict=True)) for bid in bids]
    loaded = service.load_case(made)
    reply = service.comparison_reply(loaded.case, loaded.units, include=printed.PRINTED)
    told = printed.document(loaded.case, reply, ("letter",), "a4")["parts"][0]
    held, without = (one["text"] for one in told["included"])
    assert "Said to be in the price, and to be confirmed in writing: Abate asbestos." in held
    assert "asbestos" not in without  # never in and out at once


@pytest.mark.parametrize("bid", [(15.5, ["laying"]), (12.0, ["everything"])])
def test_the_letters_column_adds_up_whatever_lines_it_has_room_for(bid):
    """Lines printed and the sum of those left out are the total, however many are printed."""
    made = copy.deepcopy(_document("demo"))
    made["alternatives"][0] |= dict(zip(("price", "price_includes"), bid, strict=True))
    loaded = service.load_case(made)
    reply = service.comparison_reply(loaded.case, loaded.units, include=printed.PRINTED)
    table = printed.document(loaded.case, reply, ("letter",), "a4")["parts"][0]["scope"]
    total = [_dollars(one["text"]) for one in table["total"][1:3]]
    assert len(table["left"]) == len(table["rows"])
    for many, left in enumerate(table["left"]):
        sums = [sum(_dollars(str(row[place])) for row in table["rows"][:many])
                for place in (1, 2)]  # fmt: skip
        rest = [_dollars(one) for one in left.partition(" and ")[::2]]
        assert [one + more for one, more in zip(sums, rest, strict=True)] == pytest.approx(
            total, abs=len(table["rows"])
        )


def _dollars(words):
    """The amount that a text has, 0 without one."""
    found = re.search(r"(−?)\$([\d,]+)", words)
    return (-1 if found[1] else 1) * float(found[2].replace(",", "")) if found else 0.0


@pytest.mark.parametrize("name", _marked(["blank", *sorted(HEAVY)]))
def test_the_annexes_say_every_figure_of_the_answer(pdf_text, name):
    _, reply = _answered(name)
    paper = pdf_text(_paper(name, *printed.PARTS))
    words = _text(paper, name)
    assert re.findall(r"[0-9] %", paper) == []  # written without a space everywhere
    names = [one["name"] for one in reply["alternatives"]]
    told = [*shortened(reply)["cautions"], *reply["notes"], *names]
    for one in reply["alternatives"]:
        told += [shown(one[name], "money") for name in ("first_cost", "life_cycle_cost",
                 "equivalent_annual_cost", "residual_value")]  # fmt: skip
        told += [shown(cost["present_value"], "money") for cost in one["costs"]]
        told += [shown(job.cost, "money") for job in list(jobs(one))[:1]]
        if one["measures"]:
            told += [shown(one["measures"]["net_savings"]["value"], "money")]
        if one["quantities"]:
            lines = one["quantities"]["first_cost"]["lines"]
            told += [shown(line["cost"], "money") for line in lines if line["cost"]]
    told = [printable(one) for one in told]
    assert [one for one in told if _squeezed(one) not in words] == []
    if name == "many assumptions":
        assert len(reply["assumptions"]) > 200
    if name == "twenty":  # of three kinds: what is the same of several is printed once
        assert len(_pages(_paper(name, *printed.PARTS))) <= 60


AMOUNT = re.compile(r"[\u2212]?\$\d+(?:,\d{3})*(?:\.\d+)?(?:k|M|bn)?")


def _told(reply, money):
    """Every figure of a reply as the paper may say it: to the dollar, in words, on the chart."""
    stack, found = [reply], set()
    while stack:
        one = stack.pop()
        if isinstance(one, dict | list):
            stack += one.values() if isinstance(one, dict) else one
        elif isinstance(one, str):
            found |= set(AMOUNT.findall(one))
        elif isinstance(one, int | float) and not isinstance(one, bool):
            found |= {form(sign * one) for sign in (1, -1) for form in money}
    return found


def _sums(reply):
    """What the paper adds up: first work, lines left out, jobs, bills, spells; its chart's axis."""
    for place, one in enumerate(reply["alternatives"]):
        first = [row["alternatives"][place]["first_cost"] for row in reply["scope"]]
        yield from (sum(first[left:]) for left in range(len(first)))  # all of it, and what is left
        yield from (job.cost for job in jobs(one))
        yield from (float(f"{cost['present_value']:.2g}") for cost in one["costs"])
        for year in one["energy"]:
            yield sum(year[name] for name in ("electricity_cost", "demand_cost", "gas_cost"))
        yield from _spells(one["energy_by_phase"]["phases"] if place else [])
    yield from (tick["cost"] for tick in payback_drawing.chart(reply)["ticks"])


def _spells(phases):
    """The mean of what a bill saves over years in a row, phases within 5% of the next as one."""
    spell = []
    for one, after in itertools.zip_longest(phases, phases[1:]):
        spell += [one["bill_saved"]] * (one["last_year"] - one["first_year"] + 1)
        if not after or abs(after["bill_saved"] - spell[-1]) > 0.05 * abs(spell[-1]):
            yield sum(spell) / len(spell)
            spell = []


def _at_takeoff(case, reply):
    """What each surveyed alternative costs more than the base case, as priced and built up."""
    for place, one in enumerate(reply["alternatives"]):
        if one["quantities"]:
            yield one["life_cycle_cost"] - reply["alternatives"][0]["life_cycle_cost"]
            base, other = compare(at_takeoff(case, place), explore=False).alternatives
            yield other.life_cycle_cost - base.life_cycle_cost


FORMS = (
    *(functools.partial(shown, kind=kind) for kind in ("money", "price_per_area", "energy_price")),
    said, brief,
    lambda value: read(value, "price_of_gas", "ip")[0],  # by the therm, as a bill has it
)  # fmt: skip


@pytest.mark.parametrize("name", _marked(["demo", *sorted(HEAVY)]))
def test_every_amount_on_letter_and_comparison_is_one_of_the_answer(pdf_text, name):
    """The other way round: the paper has no amount of money that the reply does not have."""
    case, reply = _answered(name)
    printed_ = AMOUNT.findall(pdf_text(_paper(name, "letter", "comparison")))
    assert len(printed_) > 60
    known = _told([reply, list(_sums(reply)), list(_at_takeoff(case, reply))], FORMS)
    costs = [one["life_cycle_cost"] for one in reply["alternatives"]]
    known |= {each for own in costs[1:] for each in side_by_side(costs[0], own)}
    assert [one for one in printed_ if one not in known] == []
    assert "$123,457" not in known


OTHERS = """
import json, sys
from api import service
from web.proposal import document as printed
for name, document in json.load(sys.stdin).items():
    loaded = service.load_case(document)
    with open(name, "wb") as file:
        file.write(printed.proposal_pdf(loaded.case, loaded.units, ("letter", "flags")))
"""


ELSEWHERE = {
    "no font, half a day ahead": {"TZ": "Asia/Tokyo", "LC_ALL": "C", "PYTHONHASHSEED": "1"},
    "all fonts, half a day behind": {"TZ": "America/Los_Angeles", "LC_ALL": "tr_TR.UTF-8",
                                     "LANG": "ar_EG.UTF-8", "PYTHONHASHSEED": "77",
                                     "HOME": "/nonexistent", "SOURCE_DATE_EPOCH": "0"},
}  # fmt: skip


@pytest.mark.thorough
@pytest.mark.parametrize("where", ELSEWHERE)
def test_the_same_bytes_elsewhere(tmp_path, where):
    """In a new process: other fonts, time zone, locale, order of hashes, folder, file rights."""
    names = ("demo", "parties", "other scripts", "markup")
    given = json.dumps({name: _document(name) for name in names})
    settings = {**os.environ, **ELSEWHERE[where]}
    if where.startswith("no font"):
        fonts = tmp_path / "fonts.conf"
        fonts.write_text(f"<fontconfig><dir>{tmp_path}</dir></fontconfig>")
        settings["FONTCONFIG_FILE"] = str(fonts)
    command = [sys.executable, "-c", OTHERS]
    subprocess.run(command, env=settings, check=True, cwd=tmp_path, input=given.encode(),
                   umask=0o077)  # fmt: skip
    changed = [name for name in names
               if (tmp_path / name).read_bytes() != _paper(name, "letter", "flags")]  # fmt: skip
    assert changed == []


def test_work_of_a_later_year_is_signed_at_the_prices_of_today_and_has_its_own_loan():
    made = copy.deepcopy(_document("demo"))
    base = made["base_case"]
    made["roof"]["age"] = 14
    base |= {"price": 12.0, "price_includes": ["everything"]}
    made["economics"]["financing"] = {"how": "loan", "rate": 0.07, "years": 12}
    made["proposal"] = {"recommended": base.get("name", "New membrane")}
    loaded = service.load_case({key: one for key, one in made.items() if key != "origins"})
    reply = service.comparison_reply(loaded.case, loaded.units, include=printed.PRINTED)
    told = printed.document(loaded.case, reply, ("letter",), "a4")["parts"][0]
    year = min(one["year"] for one in reply["alternatives"][0]["events"])
    assert year > 0
    assert told["cards"][0]["note"] == f"in year {year}, at today’s prices"
    assert f"begun in year {year}, at today’s prices, for $" in told["agreed"]
    assert f"Agree on the price of year {year} before that work begins." in told["agreed"]
    assert f"Paid by loan from year {year} on, in the money of that year: " in told["work"]["price"]
