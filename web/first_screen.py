"""The first screen of an answer: one sentence, four figures, and a line for what opens below."""

import re
from collections.abc import Mapping
from dataclasses import replace

from lcc import tables
from lcc.case import Case
from lcc.case.document_values import capital, spoken
from lcc.case.fields import Facts
from lcc.case.resolution import figures
from lcc.cost.energy_phases import (
    ABOUT_SAME,
    MOST_NAMED,
    Spell,
    best_and_worst,
    evens_out,
    spells_of,
)
from lcc.cost.payback_rule import NOTHING_TO_PAY_BACK
from lcc.cost.payback_sentence import BY_WORTH, FINDS, of_hundred
from lcc.cost.verdict import difference, is_moved, point_state
from lcc.figures import in_years
from lcc.place.zip_and_town import locate
from web import format as fmt
from web import weather_upload
from web.answer_tables import amount
from web.charts import Reply
from web.charts.figure import against_base, before_tax, clearly, paid_back, who
from web.charts.jobs import beyond_the_bid, jobs
from web.measures_table import KeyFigure, retrofit_shown
from web.proposal.cut_names import cut

# Work that may stand on one alternative alone, in the words of the line beside the headline.
SIDED = {"tear-off": "tear-off", "insulation": "code insulation", "asbestos": "asbestos work"}
SAME = "the same"
MOST_ALONE = 2  # alternatives, of which none needs to be named
NAME_LETTERS = 36  # of a name on a card, fewer than in the headline
FEW_FIGURES = 8  # entered: fewer make a first guess
ZIP = re.compile(r"\d{5}", re.ASCII)


def headline(case: Case, reply: Reply) -> str:
    """Return the answer in one sentence of at most two lines, a first guess named as one."""
    said: str = reply["answer"]["headline"]
    return f"First guess: {spoken(said)}" if unpriced(case, reply) else said


def metal_roof(reply: Reply) -> str:
    """Return what the metal roof does where the headline speaks of another, else nothing."""
    base, other = against_base(reply)
    which = retrofit_shown(reply)
    metal = other if which is None else reply["alternatives"][which + 1]
    if metal is other:
        return ""
    least = min(reply["alternatives"], key=lambda one: one["life_cycle_cost"])
    cheapest = f" Cheapest of all: “{base['name']}”." if least is base else ""
    costs = base["life_cycle_cost"], metal["life_cycle_cost"]
    return f"As entered, “{metal['name']}” costs {difference(*costs, base['name'])}.{cheapest}"


def about(reply: Reply) -> str:
    """Return which roof this is: its name, its place, its size."""
    given = reply["inputs"]
    area = given["roof"]["area"]
    typed = isinstance(area, str)  # with its own unit
    size = area if typed else amount({"value": area, "kind": "area"}, reply["units"])
    site = given["site"]
    row = tables.rows("climates").get(str(site.get("climate")), {})
    file = site.get("weather") or {}
    named = weather_upload.told_by(str(file.get("text", "")))[0] or file.get("name")
    town = str(named or _town(site) or (f"{row['city']}, {row['state']}" if row else ""))
    return " · ".join(word for word in (reply["name"], town, size) if word)


def _town(site: Reply) -> str:
    """The place as typed, a ZIP code with its town."""
    typed = str(site.get("place") or "")
    return f"{locate(typed).name} {typed}" if ZIP.fullmatch(typed) else typed


def whose(case: Case, reply: Reply) -> str:
    """Return how many figures the user typed, and how many are demo figures not yet replaced.

    Names, places and choices are not counted.
    """
    own, invented = _own(case), len(numbers(reply, "demo"))
    if missing := unpriced(case, reply):
        others = f"{len(numbers(reply)) - own} are usual or invented"
        until = "both prices are" if len(missing) > 1 else f"the price of “{missing[0]}” is"
        yours = f"{_figures(own)} {'is' if own == 1 else 'are'} yours"
        return f"First guess until {until} entered: {yours}, {others}"
    told = [f"{_figures(own)} yours"] if own else []
    return ", ".join([*told, *([f"{_figures(invented)} invented"] if invented else [])])


def numbers(reply: Reply, basis: str = "") -> list[Reply]:
    """Return what a reply rests on that is a number, all or of one basis: what is counted."""
    return [one for one in reply["assumptions"]
            if type(one["value"]) in (int, float) and basis in ("", one["basis"])]  # fmt: skip


def _own(case: Case) -> int:
    """Return how many figures the user typed."""
    return sum(one.origin.basis == "entered" and _is_number(one.facts)
               for one in figures(case, of=_is_number))  # fmt: skip


def unpriced(case: Case, reply: Reply) -> list[str]:
    """Return the roofs whose prices make an answer from few figures more than a first guess."""
    if not 0 < _own(case) < FEW_FIGURES:
        return []
    # The survey is the case's: a reply that is made while a slider moves leaves its take-off out.
    pairs = zip(case.choices, reply["alternatives"], strict=True)
    told = [(choice, one) for choice, one in pairs if any(one is of for of in against_base(reply))]
    return [cut(one["name"], NAME_LETTERS) for choice, one in told
            if not one["quotations"] and not getattr(choice, "framing", None)]  # fmt: skip


def _is_number(facts: Facts) -> bool:
    return facts.type in ("quantity", "whole")


def _figures(count: int) -> str:
    return f"{count} figure{'s' * (count != 1)}"


def key_figures(case: Case, reply: Reply) -> tuple[KeyFigure, ...]:
    """Return the figures that an owner asks for first: how much, from when, how sure, energy.

    Each names its roof, so that it can be read alone.
    """
    guess, name = bool(unpriced(case, reply)), capital(who(reply))
    back = _paid_back(reply)
    back = replace(back, label=f"{back.label}{', first guess' * guess}")
    bill = _energy(*against_base(reply), before_tax(reply))
    cards = _less(reply), back, _cheaper(reply, guess), bill
    return tuple(replace(one, label=f"{name}: {spoken(one.label)}") for one in cards)


def keys_of(reply: Reply) -> str:
    """Return which alternative the figures are of, where there are several."""
    base, name = against_base(reply)[0]["name"], one_of_several(reply)
    return f"{name} against “{cut(base, NAME_LETTERS)}”:" if name else ""


def one_of_several(reply: Reply) -> str:
    """Return the name of the alternative that the headline speaks of, if there are others."""
    several = len(reply["alternatives"]) > MOST_ALONE
    return f"“{cut(against_base(reply)[1]['name'], NAME_LETTERS)}”" if several else ""


def _less(reply: Reply) -> KeyFigure:
    base, other = against_base(reply)
    close = reply["answer"]["state"] == "too-close"
    saved = base["life_cycle_cost"] - other["life_cycle_cost"]
    years = len(base["cash_flow"]) - 1
    costs = fmt.side_by_side(other["life_cycle_cost"], base["life_cycle_cost"])
    level = point_state(base["life_cycle_cost"], other["life_cycle_cost"]) == "too-close"
    return KeyFigure(
        f"{'Costs' if level else 'Less' if saved >= 0 else 'More'} over {in_years(years)}"
        f"{', as entered' * close}",
        "about the same" if level else f"about {fmt.said(abs(saved))}",
        f"{costs[0]} against {costs[1]}, today’s money{before_tax(reply)}",
    )


def _paid_back(reply: Reply) -> KeyFigure:
    base, other = against_base(reply)
    payback, label = other["payback"], paid_back(reply)
    taxed = before_tax(reply).removeprefix(", ")
    if payback["year"] is None:
        same = payback["reason"] == NOTHING_TO_PAY_BACK
        runs = payback["sentence"].partition("; ")[2].rstrip(".")
        within = "both cost the same" if same else f"in {in_years(len(base['cash_flow']) - 1)}"
        notes = [within, "" if same else runs, taxed, _lent(base, other)]
        text = fmt.NOTHING if same else "never"
        close = ", as entered" * (reply["answer"]["state"] == "too-close")
        return KeyFigure(f"Pays back{close}", text, "; ".join(filter(None, notes)))
    level = payback["level_from"]
    notes = [
        "it costs no more today" if label in ("Ahead", "Ahead for good") else "",
        f"level from year {level}" if level is not None and level < payback["year"] else "",
        _clear(payback, clearly(reply)),
        f"only {BY_WORTH}" if payback["by_worth"] else "",
        _likely(other),
        taxed,
        _lent(base, other),
    ]
    text = f"year {payback['year']}" if payback["year"] else "at once"
    told = "; ".join(note for note in notes if note)
    return KeyFigure(label, text, told.replace("; as entered", ", as entered"))


def _clear(payback: Reply, clear: str) -> str:
    """Say from when it is more than level, where that is not the year on the card."""
    year = payback["clear_from"]
    if year is None:
        return "ahead by less than 2% at the end"
    return "" if year == payback["year"] else f"{clear} from year {year}"


def _lent(base: Reply, other: Reply) -> str:
    """Say what a loan or lease takes, and when less is paid in all, which is no payback."""
    paid = other["financed"]
    if not paid or paid["financed"] <= 0:
        return ""
    since = paid["ahead_from"]
    start = f"year {since}" if since else "today"
    less = "more in all" if since is None else f"less in all from {start} on"
    first = paid["paid_at_once"]
    down = f"{fmt.said(first)} at first and " * (first > 1)
    both = " for both" * (base["financed"]["financed"] > 0)
    month = f"{fmt.said(paid['monthly_payment'])} a month"
    full = "if later dollars count in full"
    return f"that is for cash; with a {paid['how']}{both} {down}{month}, {less} {full}"


def _likely(other: Reply) -> str:
    """Say when the random runs pay back, beside the year of the figures as entered.

    An open range, or one that this year lies outside of, would read as if it were denied.
    """
    payback, drawn = other["payback"], other["spread"]
    low, high = payback["likely_low"], payback["likely_high"]
    half = drawn and drawn["against_base"]["payback_p50"]["value"]
    if half is None or low is None or (high is not None and low <= payback["year"] <= high):
        likely = str(payback["likely"])
        return f"as entered; {likely}" if likely and low is None else likely
    never = 1 - drawn["against_base"]["costs_less"]
    rest = f", in {of_hundred(never)} never" if high is None else ""
    finds = FINDS * str(payback["likely"]).endswith(FINDS)
    return f"as entered; in half of the runs by year {half:.0f}{rest}{finds}"


def _cheaper(reply: Reply, guess: bool) -> KeyFigure:
    """Say in how many runs it is cheaper, and what they take for granted where that decides."""
    other, assumed = against_base(reply)[1], reply["answer"]["runs_assume"]
    if not other["spread"]:
        return KeyFigure("How sure", fmt.NOTHING, "no random runs")
    drawn = other["spread"]["against_base"]
    share, known = drawn["costs_less"], drawn["costs_less_if_well"]
    notes = [
        f"random runs{' of usual figures, not yours' * guess}",
        before_tax(reply).removeprefix(", "),
        f"if {assumed}" if assumed else "prices and lives varied" * (not guess),
        f"{of_hundred(known)} if nothing bad is found" if is_moved(share, known) else "",
    ]
    return KeyFigure("Cheaper in", of_hundred(share), ", ".join(filter(None, notes)))


def _energy(base: Reply, other: Reply, taxed: str) -> KeyFigure:
    """What the bill changes by on average, and in which years it is more or less than that."""
    phases, average = other["energy_by_phase"]["phases"], other["energy_by_phase"]["average"]
    spells = spells_of((one["first_year"], one["last_year"], one["bill_saved"]) for one in phases)
    text = _changed(-average["bill_saved"])
    text = text if text == SAME else f"{text} a year"
    text = ABOUT_SAME if evens_out(spells, average["bill_saved"]) else text
    if len(spells) == 1:
        same = "about the same " * (len(phases) > 1)
        return KeyFigure("Energy", text, f"{same}in every year{taxed}")
    if len(spells) > MOST_NAMED:
        most, least = best_and_worst(spells)
        ends = f"best: {_told(most, base)}; worst: {_told(least, base)}"
        return KeyFigure("Energy", text, f"on average{taxed}; {ends}")
    *dated, last = spells
    told = ", ".join(_told(one, base) for one in dated)
    return KeyFigure("Energy", text, f"on average{taxed}; {told}, then {_bill(last)}")


def _bill(spell: Spell) -> str:
    return f"{'about ' * spell.merged}{_changed(-spell.saved)}"


def _told(spell: Spell, base: Reply) -> str:
    """Say what one spell saves, and where a later job of the base case ends it by insulation."""
    added = [each["year"] for each in base["events"] if each["duty"] == "insulation"]
    until = ", until the other roof gets insulation" if spell.last in added else ""
    return f"{_bill(spell)} in {spell.years}{until}"


def one_sided(reply: Reply) -> list[str]:
    """Return what the first job of one alternative holds and the other never does, in sums."""
    pair = [one["name"] for one in against_base(reply)]
    found = []
    for name, other in (pair, pair[::-1]):
        alone: dict[str, float] = {}
        for row in reply["scope"]:
            entry = {one["name"]: one for one in row["alternatives"]}
            if row["key"] in SIDED and entry[name]["first_cost"] > 0 and not entry[other]["cost"]:
                alone[row["key"]] = entry[name]["first_cost"]
        if alone:
            sums = " and ".join(f"{SIDED[key]} ({fmt.said(cost)})" for key, cost in alone.items())
            found.append(f"Only “{name}” pays for {sums}: see “Why?” below.")
    return found


def _changed(more: float) -> str:
    if fmt.said(more) == "$0":
        return SAME
    return fmt.more_or_less(-more)


def told(reply: Reply) -> Mapping[str, str]:
    """Return a line for each heading: what an owner finds when it is opened."""
    base, other = against_base(reply)
    name, count = one_of_several(reply), len(numbers(reply))
    whose = f"{name}: " if name else ""
    work = [sum(event["cost"] > 0 for event in one["events"]) for one in (base, other)]
    return {
        "turning": str(reply["turning"]["sentence"]),
        "why": f"{_paid(other)} {_paid(base)}" if any(work) else "",
        "sure": _sure(reply),
        "warm": f"{whose}{other['energy_by_phase']['sentence']}",
        "rests": f"{_figures(count)} and {len(reply['assumptions']) - count} choices, each with "
        f"its source, and {len(reply['cautions'])} cautions.",
    }


def _paid(one: Reply) -> str:
    """Say what a roof costs today or, where nothing is due today, what its first job costs."""
    later = [job for job in jobs(one) if job.year > 0]
    added = beyond_the_bid(one)
    apart = f" ({fmt.said(added)} of it estimated, not in the price entered)" * (added >= 1)
    costs, since = f"{fmt.said(one['first_cost'])} today", "later"
    if later and costs == "$0 today":
        first, *later = later
        costs, since = f"nothing today, {fmt.said(first.cost)} in year {first.year}", "after that"
    costs += f"{apart}, and has {len(later)} job{'s' * (len(later) != 1)}"
    return f"“{one['name']}” costs {costs} {since}."


def _sure(reply: Reply) -> str:
    other = against_base(reply)[1]
    if not other["spread"]:
        return "No random runs were made."
    draws = other["spread"]["against_base"]
    low, high = (draws["net_savings"][key] for key in ("p10", "p90"))
    return (
        f"{capital(who(reply))}: cheaper in {of_hundred(draws['costs_less'])} random runs. In 80 "
        f"of 100 the result is between {_saved(low)} and {_saved(high)}{before_tax(reply)}."
    )


def _saved(value: float) -> str:
    return f"{fmt.said(abs(value))} {'ahead' if value >= 0 else 'behind'}"
