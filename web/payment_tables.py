"""Tables for an owner's purse: how it is paid, when to begin, and what is left after tax."""

from collections.abc import Mapping, Sequence
from typing import Any

from lcc.case import Case, Tax
from lcc.case.document_values import capital
from lcc.case.fields import facts_of
from lcc.figures import in_years
from web import format as fmt
from web.answer_tables import Told
from web.charts import Reply, Table

# Members of `financed` in the reply, and what they are called.
_PAID = {
    "paid_at_once": "Paid when the work begins",
    "financed": "Lent",
    "monthly_payment": "A month, in the first year",
    "last_monthly_payment": "A month, in the last year",
    "total_interest": "Interest in all",
    "due_later": "Due after the study period",
    "more_than_cash": "More than in cash, in today’s money",
}
AHEAD = "All payments added up, less is paid from this year on (0: today)"
ADVISER = "A tax adviser must confirm every line."


def payments(reply: Reply) -> list[Told]:
    """Return what is paid at once, by the month and in interest, where it is not said otherwise."""
    paid = [one for one in reply["alternatives"] if one["financed"]]
    if not paid:
        return []
    rows = [_row(label, paid, name, "money") for name, label in _PAID.items()]
    rows.append(_row(AHEAD, paid, "ahead_from", "count"))
    head = ("In the money of each year", *(one["name"] for one in paid))
    return [Told("payments", "How it is paid", _each(paid, "financed"), Table(head, tuple(rows)))]


def _row(label: str, paid: Sequence[Reply], name: str, kind: str) -> tuple[str, ...]:
    return (label, *(fmt.shown(one["financed"][name], kind) for one in paid))


def _each(found: Sequence[Reply], member: str) -> str:
    """Return the sentences of some alternatives, each after its name."""
    return " ".join(f"“{one['name']}”: {one[member]['sentence']}" for one in found)


def payments_by_year(reply: Reply) -> Table:
    """Return by how much less is paid in each year than under the base case."""
    paid = [one for one in reply["alternatives"][1:] if one["financed"]]
    flows = [one["financed"]["yearly_difference"] for one in paid]
    rows = tuple(
        (str(year), *(fmt.shown(amount, "money") for amount in amounts))
        for year, amounts in enumerate(zip(*flows, strict=True))
    )
    return Table(("Year", *(one["name"] for one in paid)), rows)


UNTIL_THEN = (
    "Repairs of the old roof, and of the leaks entered, are paid until then and are in the net "
    "savings; the last column is only what comes on top once the roof is past its life."
)


def beginnings(reply: Reply) -> list[Told]:
    """Return the net savings by the year in which work begins, while the old roof lasts."""
    found = [
        one for one in reply["alternatives"][1:]
        if one["starting_years"] and len(one["starting_years"]["years"]) > 1
    ]  # fmt: skip
    if not found:
        return []
    begun = [one["starting_years"] for one in found]
    rows = tuple(
        (str(year), *(fmt.shown(one["net_savings"][place], "money") for one in begun),
         fmt.shown(begun[0]["leak_risk"][place], "money"))
        for place, year in enumerate(begun[0]["years"])
    )  # fmt: skip
    head = (
        "Begun in year",
        *(f"Net savings, {one['name']}" for one in found),
        "Leak damage beyond today’s repairs, by waiting past the roof’s life",
    )
    said = f"{_each(found, 'starting_years')} {UNTIL_THEN}"
    return [Told("beginnings", "When to begin", said, Table(head, rows))]


def after_tax(case: Case, reply: Reply) -> list[Told]:
    """Return costs and savings after income tax, with the choices that were entered."""
    others = reply["alternatives"][1:]
    tax = case.economics.tax
    if tax is None:
        return []
    rows = [
        ("Net savings before tax", *(_money(one["measures"]["net_savings"], "value")
                                     for one in others)),
        ("Net savings after tax", *(_money(one["after_tax"], "net_savings") for one in others)),
    ]  # fmt: skip
    if any(one["after_tax"]["net_savings_by_line"] is not None for one in others):
        cells = (_money(one["after_tax"], "net_savings_by_line") for one in others)
        rows.append(("The same, all written off by the line alone", *cells))
    head = (f"Against “{reply['alternatives'][0]['name']}”", *(one["name"] for one in others))
    return [Told("after-tax", "After income tax", _choices(tax), Table(head, tuple(rows)))]


def _money(found: Mapping[str, Any], name: str) -> str:
    return fmt.shown(found[name], "money")


def _choices(tax: Tax) -> str:
    """Name the entries on tax."""
    told = [
        f"{facts.label.lower()}: {_said(getattr(tax, name), facts.kind)}"
        for name, facts in facts_of(Tax).items()
        if tax.states(name)
    ]
    listed = "; ".join(told)
    return f"{capital(listed)}. {ADVISER}" if told else ADVISER


def _said(value: Any, kind: str) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, str):
        return value
    return in_years(value) if kind == "years" else fmt.shown(value, kind)
