"""Where every figure of a case comes from: the list of assumptions."""

from collections.abc import Iterator, Sequence
from dataclasses import replace

from lcc import tables
from lcc.case import Case, Coating, MetalRetrofit
from lcc.case.fields import Quantity, case_name
from lcc.case.resolution import CaseFigure, figures
from lcc.cost.programme import BAD_ANSWERS
from lcc.cost.roof_job import DONE, OPEN
from lcc.cost.roof_states import BOARD
from lcc.cost.work import SET_UP_AGAIN
from lcc.invented_prices import PRICE_OF, of_cost
from lcc.model_notes import done_in_parts
from lcc.results import ScopeRow
from lcc.results.assumption import Assumption

# Duties for things that a roof may not have: their prices are listed only where it has them.
ON_A_ROOF = {"ballast", "asbestos", "wet-insulation", "drainage", "skylights", "penetrations"}


def assumptions(
    case: Case, zone: int, asked: Case, rows: Sequence[ScopeRow]
) -> tuple[Assumption, ...]:
    """Return every figure of a case and of the tables that it uses, with basis and source.

    Parameters
    ----------
    case : Case
        The case as it is computed: what was stated, what its surveys gave, what tables filled in.
    zone : int
        Number of the climate zone, 0 to 8.
    asked : Case
        The case as it was stated, whose leaks a year are among the repairs of `case`.
    rows : sequence of ScopeRow
        What each alternative does: prices of what is on no roof of the case are left out.

    Notes
    -----
    The origin of a figure is recorded where the figure is made; no values are compared.
    """
    roof = case.roof.filled(leaks=(asked.roof.leaks, asked.roof.origin("leaks")))
    listed = figures(replace(case, roof=roof))
    met = {
        row.key
        for row in rows
        for one in row.alternatives
        if one.cost or one.status in ((DONE, OPEN) if row.key in BAD_ANSWERS else (DONE,))
    }
    absent = ON_A_ROOF - met | (set() if done_in_parts(case) else {SET_UP_AGAIN})
    stated = [each for each in listed if not _idle(each, case, absent)]
    return (*map(Assumption.of, stated), *_table_figures(case, zone))


def _idle(figure: CaseFigure, case: Case, absent: set[str]) -> bool:
    """Whether nothing rests on it: a name, a word, a station beside a file, a price of no work."""
    replaced = figure.field == "site.climate" and case.site.weather is not None
    last = figure.field.rpartition(".")[2]
    words = figure.field.startswith("proposal.") or last in ("name", "bidder", "quotation_taken")
    untold = (  # by the survey of a roof that was tested
        figure.field.endswith("other_work.asbestos") and case.roof.states("asbestos")
        and figure.origin.basis == "common practice"
    )  # fmt: skip
    unmet = of_cost(figure.facts) and PRICE_OF.get(last) in absent
    return replaced or words or untold or unmet


def _table_figures(case: Case, zone: int) -> Iterator[Assumption]:
    """Yield the figures that come from tables without a field of the case."""
    yield _figure("insulation_minimums", str(zone), "resistance_m2k_w", "resistance",
                  f"Insulation at tear-off, climate zone {zone}")  # fmt: skip
    yield _figure("materials", BOARD, "conductivity_w_mk", "conductivity",
                  "Conductivity of the insulation added at tear-off")  # fmt: skip
    laid = {
        (choice.replacement if isinstance(choice, Coating) else choice).covering
        for choice in case.choices
        if not isinstance(choice, MetalRetrofit)
    }
    for covering in sorted({case.roof.covering, *laid}):
        name = tables.rows("coverings")[covering]["name"]
        yield _figure("coverings", covering, "mass_kg_m2", "mass_per_area",
                      f"Mass for disposal: {name}")  # fmt: skip


def _figure(table: str, row_key: str, column: str, kind: str, label: str) -> Assumption:
    row = tables.rows(table)[row_key]
    field = f"{table}.{row_key}.{case_name(column, Quantity(kind, label))}"
    return Assumption(field, label, float(row[column]), kind, row["basis"], str(row["source"]))
