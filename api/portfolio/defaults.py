"""What rows leave to defaults: the columns, what is taken instead, and for how many rows."""

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, replace

from api.portfolio.job import PortfolioJob
from api.portfolio.reading.headers import title_of, unit_of
from api.portfolio.table_template import when_left_out
from lcc import tables
from lcc.case import Case, Roof
from lcc.case.fields import facts_of
from lcc.case.roof import LEAK_COST
from lcc.portfolio.columns import Column, columns
from lcc.portfolio.rows import defaults_used, template
from lcc.units import System


@dataclass(frozen=True)
class Taken:
    """One column: its title, its default and the source of that, and how many rows take it."""

    title: str
    value: str
    source: str
    rows: str

    def __iter__(self) -> Iterator[str]:
        """Yield the cells of a table."""
        return iter((self.title, self.value, self.source, self.rows))


def defaults_taken(job: PortfolioJob) -> tuple[Taken, ...]:
    """Return a line for each column that some good row leaves empty, in the order of the columns.

    Site and roof are a building's own: for them the case that came with the table says nothing.
    """
    system, blank = job.query.system, template()
    case = replace(job.base, site=blank.site, roof=blank.roof)
    left = Counter(
        name for names in defaults_used(job.intake.frame) for name in names.split("; ") if name
    )
    found = []
    for column in columns():
        if not left[column.name]:
            continue
        value, source = when_left_out(column, system, case)
        if (value, source) != when_left_out(column, system):
            source = "the case file"
        elif not source:
            value, source = _priced(column, case, system) or (value, source)
        rows = f"{left[column.name]:,} of {job.intake.good:,}"
        found.append(Taken(title_of(column, system), value, source, rows))
    return (*found, *beside_columns(job))


def beside_columns(job: PortfolioJob) -> Iterator[Taken]:
    """Yield what no column states: what a leak costs, and how patching and damage grow."""
    frame, good = job.intake.frame, f"{job.intake.good:,}"
    if leaking := int((frame["leaks"].astype(float) > 0).sum()) if "leaks" in frame else 0:
        rows = f"{leaking:,} of {good}"
        yield Taken("each leak a year", f"${LEAK_COST:,.0f}", "demo: invented", rows)
    growth, facts = template().roof.repairs_growth, facts_of(Roof)["repairs_growth"]
    source = ": ".join(filter(None, (facts.basis, facts.source)))
    what = "yearly rise of patching and leak damage past due"
    yield Taken(what, f"{growth:.0%}", source, f"{good} of {good}")


def demo_columns(job: PortfolioJob) -> set[str]:
    """Return the columns whose default is invented."""
    system = job.query.system
    titles = {title_of(column, system): column.name for column in columns()}
    invented = {one.title for one in defaults_taken(job) if one.source.startswith("demo")}
    return {name for title, name in titles.items() if title in invented}


def _priced(column: Column, case: Case, system: System) -> tuple[str, str] | None:
    """Return the price that an empty cell takes from the table of prices, and its source."""
    of_retrofit = column.path == ("retrofit", "price_per_m2")
    if of_retrofit and any(getattr(one, "framing", None) for one in case.alternatives):
        return None  # the framing's quantities price it
    key = "retrofit_per_m2" if of_retrofit else column.path[-1] if column.path else ""
    row = tables.rows("prices").get(key)
    if row is None or column.path[0] not in ("prices", "retrofit"):
        return None
    value = row["value"] / unit_of(column, system).factor
    return f"{value:.4g}", f"{row['basis']}: {row['source']}"
