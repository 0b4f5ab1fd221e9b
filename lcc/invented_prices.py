"""Which prices of a case are invented, so that its cautions name them."""

from collections.abc import Iterator, Sequence

from lcc.case import Case, DutyPrices
from lcc.case.fields import Facts, facts_of
from lcc.case.resolution import figures
from lcc.case.roof import LEAK_COST, OF_LEAKS
from lcc.cost.work import REFINISHED, SERVICED, SET_UP_AGAIN
from lcc.results import AlternativeResult

INVENTED = (
    "These prices are invented (marked demo): {names}. Put in quotations before deciding anything "
    "by these figures."
)
LEAK = f"Each leak, found and repaired, ${LEAK_COST:,.0f}"
# What each price pays for: a duty, or the name of a work. A price not listed is always named.
PRICE_OF = {
    "ballast": "ballast", "asbestos": "asbestos", "wet_patch": "wet-insulation",
    "taper_rate": "drainage", "tear_off": "tear-off", "disposal": "tear-off",
    "insulation": "insulation", "unit_lift": "units", "unit_reflash": "units",
    "skylight_reflash": "skylights", "skylight_raise": "skylights", "disruption": "protection",
    "penetration": "penetrations", "edge": "edges", "structure_rate": "structure",
    "on_costs_rate": "on-costs", "second_setup": SET_UP_AGAIN, "warranty": "warranty",
    "service": SERVICED, "finish": REFINISHED,
}  # fmt: skip
OF_SURVEY = "unit prices and hours of the framing survey"


def of_prices(stated: Case, results: Sequence[AlternativeResult]) -> Iterator[str]:
    """Yield the prices and percentages that are invented, of work that this case has."""
    events = [event for each in results for event in each.events if event.cost]
    done = {event.duty for event in events} | {event.what.partition(",")[0] for event in events}
    if stated.roof.asbestos == "not-tested":  # swings and random runs price it
        done.add("asbestos")
    demo = [
        one for one in figures(stated, of=of_cost)
        if one.origin.basis == "demo"
        and PRICE_OF.get(one.field.rpartition(".")[2], "") in {"", *done}
    ]  # fmt: skip
    named = {OF_SURVEY if ".unit_prices." in one.field else one.facts.label for one in demo}
    named |= {LEAK} if OF_LEAKS in stated.roof.origin("repairs_per_m2").source else set()
    if named:
        yield INVENTED.format(names="; ".join(sorted(named)))


def of_cost(facts: Facts) -> bool:
    """Tell whether a field is a price, or a part of one, not a finding of a like name."""
    priced = facts.kind == "money" or facts.kind.startswith("price")
    return priced or facts in facts_of(DutyPrices).values()
