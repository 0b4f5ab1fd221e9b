"""The tables of an answer: costs, programme, swings, months and dew, each with a sentence."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from itertools import islice
from typing import Any

from lcc import units
from lcc.case.document_values import capital, spoken
from lcc.case.duty_prices import LAYING, included
from lcc.cost.work import GRANT, RESIDUAL
from lcc.figures import in_years
from web import format as fmt
from web.charts import Reply, Series, Table
from web.charts.figure import against_base, series_of, states, typical
from web.charts.jobs import jobs

MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
MOST_SWINGS = 8
# What is shown month by month: name in the reply, kind of quantity, title.
_MONTHLY = (
    ("cooling_electricity", "electricity", "Cooling by month"),
    ("heating_electricity", "electricity", "Heating by month"),
    ("gas", "gas_energy", "Heating by month"),
)
_DEW = {
    "hours_below_dew_point": "Below the dew point",
    "hours_wet": "Wet",
    "longest_wet_spell": "Longest wet spell",
}


@dataclass(frozen=True)
class Told:
    """A table with its title and the sentence that says what to see in it."""

    key: str
    title: str
    reading: str
    table: Table
    term: str = ""  # explained in `web.glossary`


def why(reply: Reply) -> tuple[Told, ...]:
    """Return the tables of costs, of what each price includes, and of the programme of work."""
    return costs(reply), *scope(reply), *quotations(reply), programme(reply)


def heat(reply: Reply) -> tuple[Told, ...]:
    """Return the tables of energy by phase, by month, and of dew."""
    return phases(reply), *months(reply), *dew(reply)


def costs(reply: Reply) -> Told:
    """Return the present value of each category of cost, largest category first."""
    lines = [_by_name(one) for one in reply["alternatives"]]
    names = dict.fromkeys(name for line in lines for name in line)
    size = {name: max(abs(line.get(name, 0.0)) for line in lines) for name in names}
    kept = sorted((name for name in names if size[name] >= 0.5), key=lambda name: -size[name])
    rows = [(name, *(fmt.shown(line.get(name, 0.0), "money") for line in lines)) for name in kept]
    total = ("Life-cycle cost", *(fmt.shown(one["life_cycle_cost"], "money")
                                  for one in reply["alternatives"]))  # fmt: skip
    head = ("Present value", *(one["name"] for one in reply["alternatives"]))
    return Told("costs", "Where the money goes", _costs_reading(reply), Table(head, (*rows, total)))


def _costs_reading(reply: Reply) -> str:
    base, other = (_by_name(one) for one in against_base(reply))
    spent = [name for name in {**base, **other} if name not in (RESIDUAL, GRANT)]
    saved = {name: base.get(name, 0.0) - other.get(name, 0.0) for name in spent}
    dearest, cheapest = min(saved, key=saved.__getitem__), max(saved, key=saved.__getitem__)
    names = [one["name"] for one in against_base(reply)]
    return (
        f"Against “{names[0]}”, “{names[1]}” spends {fmt.more_or_less(saved[dearest])} on "
        f"{dearest.lower()} and {fmt.more_or_less(saved[cheapest])} on {cheapest.lower()}."
    )


def _by_name(alternative: Reply) -> dict[str, float]:
    return {cost["name"]: cost["present_value"] for cost in alternative["costs"]}


def programme(reply: Reply) -> Told:
    """Return what is done to each roof in which year, why, and what it costs."""
    rows = sorted(
        (job.year, place, one["name"], fmt.shown(job.cost, "money"), job.what, job.why)
        for place, one in enumerate(reply["alternatives"])
        for job in jobs(one)
    )
    base, other = against_base(reply)
    years = len(base["cash_flow"]) - 1
    done = [[job.cost for job in jobs(one)] for one in (base, other)]
    alike = fmt.said(sum(done[0])) == fmt.said(sum(done[1]))
    first, last = (_pieces(costs, fmt.money if alike else fmt.said) for costs in done)
    return Told(
        "programme",
        "When each job comes",
        f"In {years} years “{base['name']}” means {first}; “{other['name']}” means {last}, in "
        "today’s prices.",
        Table(
            ("Year", "Alternative", "Cost then, today’s prices", "Work", "Why"),
            tuple((str(year), *rest) for year, _, *rest in rows),
        ),
        "covering",
    )


def _pieces(costs: Sequence[float], amount: Callable[[float], str]) -> str:
    if not costs:
        return "no work beyond repairs"
    return f"{len(costs)} piece{'s' * (len(costs) > 1)} of work for {amount(sum(costs))}"


_STATUS = {"not-needed": "not needed", "left-out": "left out by choice",
           "open-question": "open question"}  # fmt: skip


SUMS = " Sums are in today’s prices."
SPLIT = (
    " The one price of {whose} is split by usual prices: an estimate. What it leaves for "
    "laying sets the price of later jobs."
)


def scope(reply: Reply) -> list[Told]:
    """Return which duty each alternative does, for how much, and why one is not done."""
    rows = reply["scope"]
    if not rows:
        return []
    head = ("Work", *(one["name"] for one in reply["alternatives"]))
    cells = tuple((row["duty"], *map(_done, row["alternatives"])) for row in rows)
    note = (reply["scope_note"] or "Every alternative holds the same work.") + SUMS + split(reply)
    return [Told("scope", "What each price includes, and what it does not", note,
                 Table(head, cells), "price-includes")]  # fmt: skip


def _done(one: Reply) -> str:
    if one["status"] == "done":
        return _sums(one)
    said = f"{_STATUS[one['status']]}: {one['reason']}" if one["reason"] else _STATUS[one["status"]]
    return f"{_sums(one)}, {said}" if one["cost"] else said


def _sums(one: Reply) -> str:
    """What a piece of work costs in the first job, and in all years where that is more."""
    first, whole = (fmt.shown(one[key], "money") for key in ("first_cost", "cost"))
    if not one["cost"]:
        return "included"
    if not one["first_cost"]:
        return f"{whole} in later jobs"
    return f"{first} first job" if first == whole else f"{first} first job; {whole} all years"


def split(reply: Reply) -> str:
    """Say whose one price for several works is split by usual prices; empty where none is."""
    names = [f"“{one['name']}”" for one in reply["alternatives"] for bid in one["quotations"]
             if bid["taken"] and included(tuple(bid["price_includes"])) - set(LAYING)]  # fmt: skip
    whose = " and ".join(dict.fromkeys(names))
    return SPLIT.format(whose=whose) if names else ""


def quotations(reply: Reply) -> list[Told]:
    """Return the prices for first jobs brought to one scope, where any stand side by side."""
    unit = units.unit("price_per_area", reply["units"]).display
    rows = tuple(
        (one["name"], bid["bidder"], fmt.shown(bid["price"], "price_per_area"), _left_out(bid),
         fmt.shown(bid["levelled_price"], "price_per_area"), "yes" if bid["taken"] else "no")
        for one in reply["alternatives"] for bid in one["quotations"]
    )  # fmt: skip
    said = " ".join(filter(None, (one["quotations_note"] for one in reply["alternatives"])))
    if not said:
        return []
    head = ("Alternative", "Bidder", f"As quoted, {unit}", f"Left out and added, {unit}",
            f"For the same work, {unit}", "Taken")  # fmt: skip
    return [
        Told("quotations", "Prices for the first job, for the same work", said, Table(head, rows))
    ]


def _left_out(bid: Reply) -> str:
    added = (f"{spoken(one['duty'])} "
             f"{fmt.shown(one['price'], 'price_per_area')}" for one in bid["left_out"])  # fmt: skip
    return "; ".join(added) or "nothing"


def turning(reply: Reply) -> tuple[Told, ...]:
    """Return what could turn the answer: inputs alone, two together, the years counted; or none."""
    found, swings = reply["turning"], against_base(reply)[1]["swings"] or ()
    system, now = reply["units"], len(reply["alternatives"][0]["cash_flow"]) - 1
    pair = [found["pair"][name] for name in ("first", "second")] if found["pair"] else []
    groups = [*([one] for one in found["inputs"]), *([pair] if pair else [])]
    rows = [_turn([in_money(one, swings) for one in group], system) for group in groups]
    saved = reply["alternatives"][0]["life_cycle_cost"] - against_base(reply)[1]["life_cycle_cost"]
    rows += [
        (f"{in_years(one['study_period'])} counted", in_years(now), _then(one), fmt.NOTHING)
        for one in found["study_periods"] if one["net_savings"] * saved < 0
    ]  # fmt: skip
    rows += [
        (capital(one["what"]), fmt.NOTHING, _then(one), fmt.NOTHING)
        for one in found["choices"] if one["alternative"] == found["alternative"]
    ]  # fmt: skip
    rows = rows or [("No input within its range", *[fmt.NOTHING] * 3)]
    head = ("What changes", "In the case", "The answer turns at", "Range tried")
    reading = f"Net savings are those of “{found['alternative']}”."
    title = "What would flip the answer, nearest first"
    return (Told("turning", title, reading, Table(head, tuple(rows))),)


def _then(one: Reply) -> str:
    return f"net savings {fmt.shown(one['net_savings'], 'money')}"


def in_money(one: Reply, swings: Sequence[Reply]) -> Reply:
    """Return an input with what is not known of the roof as what it costs, not as a share."""
    its = [each for each in swings if each["label"] == one["label"]]
    if not its or its[0]["low"]["kind"] != "fraction":
        return one
    worst = abs(its[0]["net_savings_high"] - its[0]["net_savings_low"])
    return {name: {"value": worst * value["value"], "kind": "money"}
            if isinstance(value, dict) else value for name, value in one.items()}  # fmt: skip


def _turn(inputs: Sequence[Reply], system: units.System) -> tuple[str, ...]:
    """Return inputs that turn the answer together: now, where it turns, and their ranges."""
    return (
        " together with ".join(one["label"] for one in inputs),
        *("; ".join(amount(one[name], system) for one in inputs) for name in ("current", "value")),
        "; ".join(f"{amount(one['low'], system)} to {amount(one['high'], system)}"
                  for one in inputs),
    )  # fmt: skip


def swings(reply: Reply) -> tuple[Told, ...]:
    """Return what one input alone does to the net savings, the widest first, if that is known."""
    _, other = against_base(reply)
    if not other["swings"]:
        return ()
    found = other["swings"][:MOST_SWINGS]
    head = ("If only this changes", "Low", "Net savings then", "High", "Net savings then")
    rows = tuple(swing_row(one, reply["units"]) for one in found)
    return (Told("swings", "What moves the net savings most", _swings_reading(other, found),
                 Table(head, rows)),)  # fmt: skip


def swing_row(one: Reply, system: units.System) -> tuple[str, ...]:
    """Return an input at its low and its high end, with the net savings at each."""
    one = in_money(one, [one])
    return (
        one["label"],
        amount(one["low"], system),
        fmt.shown(one["net_savings_low"], "money"),
        amount(one["high"], system),
        fmt.shown(one["net_savings_high"], "money"),
    )


def _swings_reading(other: Reply, found: Sequence[Reply]) -> str:
    widest = found[0]
    ends = sorted((widest["net_savings_low"], widest["net_savings_high"]))
    turning = sum(one["net_savings_low"] * one["net_savings_high"] < 0 for one in found)
    turns = {0: "no figure alone changes the answer", 1: "one figure alone could change the answer"}
    return (
        f"The net savings of “{other['name']}” depend most on “{widest['label']}”, from "
        f"{fmt.said(ends[0])} to {fmt.said(ends[1])}; "
        f"{turns.get(turning, f'each of {turning} figures alone could change the answer')} within "
        "its range."
    )


def amount(one: Reply | None, system: units.System) -> str:
    """Return an amount with its unit as people read it.

    Examples
    --------
    >>> amount({"value": 6.4, "kind": "price_per_area"}, "ip"), amount(None, "ip")
    ('$6.40/ft²', '–')
    >>> amount({"value": 0.75, "kind": "ratio"}, "ip")
    '0.75 times'
    >>> amount({"value": 1.0, "kind": "years"}, "ip")
    '1 year'
    """
    if one is None or one["value"] is None:
        return fmt.NOTHING
    text, unit = fmt.read(one["value"], one["kind"], system)
    if one["kind"] == "years":
        return f"{text} year" if text == "1" else f"{text} years"
    if one["kind"] == "ratio":
        return f"{text} times"
    return text + unit.removeprefix("$") if unit.startswith("$") else f"{text} {unit}".strip()


SAVED = {"bill_saved": "money", "electricity_saved": "electricity", "gas_saved": "gas_energy"}


def phases(reply: Reply) -> Told:
    """Return what the answer's alternative saves in energy while each base roof is in place."""
    saved = against_base(reply)[1]["energy_by_phase"]
    power, gas = (units.unit(kind, reply["units"]).display for kind in list(SAVED.values())[1:])
    head = ("Each year of", "Bill saved", f"Electricity saved, {power}", f"Gas saved, {gas}")
    return Told("phases", "Energy saved while each base roof is in place", saved["sentence"],
                Table(head, tuple(phase_rows(saved))))  # fmt: skip


def phase_rows(saved: Reply, most: int | None = None) -> Iterator[tuple[str, ...]]:
    """Yield a row for each phase, or for the first few, and for the average of several."""
    average = [saved["average"]] if len(saved["phases"]) > 1 else []
    for one in (*saved["phases"][:most], *average):
        yield one["what"], *(fmt.shown(one[name], kind) for name, kind in SAVED.items())


def months(reply: Reply) -> Iterator[Told]:
    """Return electricity and gas month by month, each where there is any."""
    named = states(reply)
    for what, kind, title in _MONTHLY:
        years = [year["monthly"][what] for _, year in named]
        if any(map(sum, years)):
            unit = units.unit(kind, reply["units"]).display
            head = (f"Month, {unit}", *(one.name for one, _ in named))
            rows = tuple(
                (month, *(fmt.shown(year[place], kind) for year in years))
                for place, month in enumerate(MONTHS)
            )
            yield Told(what.replace("_", "-"), title, "", Table(head, rows))


def dew(reply: Reply) -> list[Told]:
    """Return how long a panel over a cavity is cold enough for dew, where there is one."""
    wet = [
        (one, found)
        for one, roof in zip(series_of(reply), reply["alternatives"], strict=True)
        if (found := typical(roof)["condensation"])
    ]
    if not wet:
        return []
    head = ("Hours in a year", *(one.name for one, _ in wet))
    rows = tuple(
        (label, *(fmt.shown(found[key], "hours") for _, found in wet))
        for key, label in _DEW.items()
    )
    return [
        Told("dew", "Dew under the metal panel", dew_reading(reply, *wet[0]), Table(head, rows))
    ]


def dew_reading(reply: Reply, one: Series, found: Any) -> str:
    """Return the hours below the dew point, the thickest film and the drying in one sentence."""
    unit = units.unit("film", reply["units"]).display
    return (
        f"The underside of “{one.name}” is below the dew point for "
        f"{fmt.shown(found['hours_below_dew_point'], 'hours')} hours of a year; the longest wet "
        f"spell lasts {fmt.shown(found['longest_wet_spell'], 'hours')} hours and the thickest "
        f"film weighs {fmt.shown(found['peak_film'], 'film')} {unit}{_drying(found)}."
    )


def _drying(found: Any) -> str:
    """How long the water stated in the old roof takes to leave, ventilated and sealed."""
    if not found["drying"]:
        return ""
    vented, sealed = (_days(found[key]) for key in ("drying", "drying_sealed"))
    return f"; the water stated in the old roof leaves {vented}, under a sealed cavity {sealed}"


def _days(drying: Any) -> str:
    days = drying and drying["days_to_dry"]
    return f"in about {fmt.shown(days, 'count')} days" if days else "never"


def caution_groups(reply: Reply) -> list[tuple[str, list[str]]]:
    """Return the cautions of a comparison's reply under their headings.

    Examples
    --------
    >>> groups = [{"title": "Structure", "count": 1}, {"title": "The figures", "count": 1}]
    >>> caution_groups({"cautions": ["a", "b"], "caution_groups": groups})
    [('Structure', ['a']), ('The figures', ['b'])]
    """
    left = iter(reply["cautions"])
    return [(one["title"], list(islice(left, one["count"]))) for one in reply["caution_groups"]]
