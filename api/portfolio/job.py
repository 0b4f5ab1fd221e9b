"""One portfolio computed: what is asked of it, and its answer as events or as one document."""

import re
from collections.abc import Callable, Generator, Iterator
from concurrent.futures import Executor
from dataclasses import asdict, dataclass, field
from functools import cached_property
from typing import Any, cast

import pandas as pd

from api import schemas, service
from api.portfolio import results_out
from api.portfolio.background import patiently
from api.portfolio.intake import Intake
from api.portfolio.plan_kept import KeptPlan
from api.portfolio.query import PortfolioQuery, money
from api.problems import Problem, from_case_error
from lcc.case import Case
from lcc.cost.present_value import real_discount_rate
from lcc.errors import CaseError
from lcc.model_notes import NOTES
from lcc.portfolio.evaluation import Done, evaluate, heat_columns
from lcc.portfolio.exact_heat import ALL_EXACT, Exactly
from lcc.portfolio.heat_by_area import LOW, with_ranges
from lcc.portfolio.one_budget import frontier
from lcc.portfolio.outcome import Outcome, as_frame
from lcc.portfolio.plan_tables import WHOLE, CapitalPlan, Patience
from lcc.portfolio.ranking import (
    CapitalProgramme,
    Ranked,
    best_rows,
    planned,
    programme,
    ranked,
    within_budget,
)
from lcc.portfolio.rows import case_of
from lcc.portfolio.totals_and_drivers import Driver, GroupTotal, drivers, group_totals
from lcc.units import System

_NOTHING_FOUND = (
    "Every building is computed, but the search for what fits the budget found nothing within "
    "its time; give another budget, or none."
)
INTERPOLATED = (
    "The heat of roofs that differ in area alone is interpolated between five solved areas, which "
    "moves net savings by less than 0.1% of a roof's cost; a roof opened alone is solved itself."
)
SOLVED = "{count} roofs decide what fits this budget or plan; their heat is solved exactly."
Ended = tuple[pd.DataFrame, CapitalProgramme]


@dataclass(frozen=True)
class Means:
    """Executor, chunk size and checkpoint store of a portfolio's calculation.

    Without `partition_rows` the parts are small, so that progress is reported often. `keep_ways` is
    that of `lcc.portfolio.evaluate`; `told` is called with the number of
    buildings done and of all, and may raise to end the work.
    """

    executor: Executor | None = None
    partition_rows: int | None = None
    kept: Callable[[str], Done | None] = lambda _: None
    keep_ways: bool = False
    told: Callable[[int, int], None] = lambda done, of: None
    plan: KeptPlan | None = None

    def evaluated(
        self, frame: pd.DataFrame, base: Case, years: int = 0, by_area: bool = True
    ) -> Iterator[pd.DataFrame]:
        """Yield the results of a frame; `years` and `by_area` as in `lcc.portfolio.evaluate`."""
        return evaluate(
            frame,
            base,
            executor=self.executor,
            partition_rows=self.partition_rows or _told_often(len(frame)),
            start_years=years,
            done=self.kept("plan" if years else "results"),
            by_area=by_area,
            keep_ways=self.keep_ways,
        )

    def again(self, frame: pd.DataFrame, base: Case, years: int) -> Iterator[pd.DataFrame]:
        """Yield exact results of some buildings; what is kept of them holds in place of others."""
        kept = self.kept("plan" if years else "results")
        fresh: Done = {}
        yield from evaluate(
            frame, base, executor=self.executor, partition_rows=1, start_years=years, done=fresh,
            keep_ways=self.keep_ways,
        )  # fmt: skip
        if kept is not None:
            for rows in fresh.values():
                kept[EXACT_FROM + rows[0].building] = rows


# Parts of one building solved exactly are numbered from here on, behind all others.
EXACT_FROM = 1_000_000


def _told_often(rows: int) -> int:
    """Return partitions so small that progress is reported some five hundred times.

    Examples
    --------
    >>> [_told_often(rows) for rows in (60, 1000, 10_000)]
    [1, 2, 20]
    """
    return max(1, rows // 500)


@dataclass
class PortfolioJob:
    """One job: the buildings, the case behind them, the query; results gather as they come.

    `exact` are the buildings on which a set or a plan hung, solved exactly after all.
    """

    intake: Intake
    base: Case
    query: PortfolioQuery
    means: Means = Means()
    gathered: list[pd.DataFrame] = field(default_factory=list)
    budget: float | None = field(init=False)
    yearly: list[float] = field(init=False)
    ended: Ended | None = None
    exact: set[int] = field(default_factory=set)

    def __post_init__(self) -> None:
        """Read the sums first, so that their faults are reported before any work."""
        self.budget, self.yearly = money(self.query)

    def run(self) -> Iterator[pd.DataFrame]:
        """Yield results in row order as they come; `gathered` keeps them."""
        if not self.intake.good:
            return
        try:
            for frame in self._evaluated():
                self.gathered.append(frame)
                self.means.told(frame.attrs["done"], self.intake.good)
                yield frame
        except CaseError as error:
            raise from_case_error(error) from None

    def _evaluated(self, years: int = 0) -> Iterator[pd.DataFrame]:
        by_area = self.query.heat == "by-area"
        return self.means.evaluated(self.intake.frame, self.base, years, by_area)

    @property
    def interpolated(self) -> int:
        """How many roofs have their heat interpolated over areas."""
        return len(self._by_area)

    @cached_property
    def _by_area(self) -> frozenset[int]:
        """Roofs whose heat is interpolated over areas."""
        frame = self.intake.frame
        if self.query.heat == "exact" or frame.empty:
            return frozenset()
        low = with_ranges(frame, heat_columns(frame))[LOW]
        return frozenset(int(one) for one in low.index[low.notna()])

    @property
    def results(self) -> pd.DataFrame:
        """What is computed so far."""
        if not self.gathered:
            return as_frame([])
        self.gathered[:] = [pd.concat(self.gathered, ignore_index=True)]
        return self.gathered[0]

    @property
    def finished(self) -> Ended:
        """Ranked results with what budget and plan reach, and what the whole comes to.

        Call it when `run` has ended; the answer is kept.
        """
        for _ in self.finish():
            pass
        return cast("Ended", self.ended)

    def finish(self) -> Iterator[int]:
        """Work out what `finished` holds, yielding how many buildings the plan knows so far.

        It yields at least once a second, also while the solver searches, so that a client
        that leaves is noticed.
        """
        if self.ended is not None:
            return
        options: list[pd.DataFrame] = []
        if self.yearly and self.intake.good:
            for frame in self._evaluated(len(self.yearly)):
                options.append(frame)
                self.means.told(frame.attrs["done"], self.intake.good)
                yield frame.attrs["done"]
        search = patiently(lambda: self._settled(options))
        try:
            self.ended = yield from _counting(search, self.intake.good if options else 0)
        except TimeoutError:
            raise Problem("time-limit", _NOTHING_FOUND) from None

    def _settled(self, options: list[pd.DataFrame]) -> Ended:
        every = pd.concat(options, ignore_index=True) if options else None
        final, whole = settled(self.results, every, self.query, self._exactly, self.means.plan)
        rate = real_discount_rate(self.base.economics)
        return final, whole.of_table(self.intake.year, self.intake.must_refused, rate)

    @property
    def _exactly(self) -> Exactly:
        """What solves the roofs exactly that a set or a plan depends on."""
        return Exactly(self._by_area, self._solved_exactly)

    def _solved_exactly(self, buildings: list[int], years: int) -> pd.DataFrame:
        self.exact.update(buildings)
        frame = self.intake.frame.loc[buildings]
        return pd.concat(list(self.means.again(frame, self.base, years)), ignore_index=True)

    def events(self) -> Iterator[dict[str, Any]]:
        """Yield the events of a stream: the start, each result, progress, and the end."""
        system = self.query.system
        yield {"event": "start", **self.head()}
        for frame in self.run():
            for row in results_out.documents(frame, Outcome, system):
                yield {"event": "result", **row}
            yield {"event": "progress", "done": frame.attrs["done"], "of": self.intake.good}
        for done in self.finish():
            yield {"event": "planning", "done": done, "of": self.intake.good}
        final, whole_set = self.finished
        again = final[final["building"].isin(self.exact)]
        for row in results_out.documents(again, Outcome, system):
            yield {"event": "result", **row}
        yield {"event": "end", **self.tail(final, whole_set)}

    def document(self) -> dict[str, Any]:
        """Return the whole answer."""
        for _ in self.run():
            pass
        final, whole_set = self.finished
        rows = list(results_out.documents(final, Ranked, self.query.system))
        return {**self.head(), "results": rows, **self.tail(final, whole_set)}

    def head(self) -> dict[str, Any]:
        """Return what is known before any work."""
        return {**service.versions(), "units": self.query.units, **self.intake.document()}

    def tail(self, final: pd.DataFrame, whole_set: CapitalProgramme) -> dict[str, Any]:
        """Return what is known at the end: sums, the budget's set, the plan, the frontier."""
        return {
            "computed": int(final.loc[final["problem"].isna(), "building"].nunique()),
            "refused": int(final["problem"].notna().sum()),
            **in_money(final, whole_set, self.query.system),
            "drivers": [asdict(one) for one in self.drivers(final)],
            "interpolated": self.interpolated,
            "cautions": cautions(final),
            "notes": [*NOTES, *self.told_of_heat()],
        }

    def told_of_heat(self) -> list[str]:
        """Return what is interpolated, and what is solved after all."""
        if not self.interpolated:
            return []
        hung = len(self.exact)
        return [INTERPOLATED, *([SOLVED.format(count=hung)] if hung else [])]

    def drivers(self, final: pd.DataFrame) -> tuple[Driver, ...]:
        """Return which inputs the order of the ranking follows."""
        return drivers(self.intake.frame, _tried(final))

    def case(self) -> dict[str, Any]:
        """Return the case document of the building asked for."""
        number = int(self.query.building) if self.query.building.isdecimal() else 0
        if number not in self.intake.frame.index:
            asked = self.query.building[:20]
            detail = f"No good row of this table has the number {asked!a}."
            if not asked:
                detail = "State whose case is wanted: building, with the number of a good row."
            raise Problem("not-found", detail)
        row = self.intake.frame.loc[[number]].to_dict("records")[0]
        try:
            case = case_of({str(k): v for k, v in row.items() if not pd.isna(v)}, self.base)
        except CaseError as error:
            raise from_case_error(error) from None
        return service.case_document(case, self.query.system)


def settled(
    results: pd.DataFrame,
    options: pd.DataFrame | None,
    query: PortfolioQuery,
    exactly: Exactly = ALL_EXACT,
    kept: KeptPlan | None = None,
    patience: Patience = WHOLE,
) -> Ended:
    """Return results ranked, with what a query's budget and plan reach, and what all comes to.

    `options` are the ways of the plan, None without one; `exactly` solves roofs near a tie;
    `kept` is where the plan is kept; `patience` is how long it is searched.
    """
    budget, yearly = money(query)
    chosen, plan = None, None
    if budget is not None:
        results, chosen = within_budget(results, budget, exactly)
    if options is not None:
        carried = query.carry_over == "yes"
        keep = kept.get if kept else None
        results, plan = planned(
            results, options, yearly, carried, exactly=exactly, kept=keep, patience=patience
        )
    final = ranked(results) if query.rank_by == "rows" else ranked(results, query.rank_by)
    if query.rank_by == "rows":
        final = final.sort_values("building", kind="stable", ignore_index=True)
    return final, programme(results, chosen, plan)


def in_money(final: pd.DataFrame, whole_set: CapitalProgramme, system: System) -> dict[str, Any]:
    """Return the sums of an answer: the budget's set, the plan, ranks, the frontier, groups."""
    schema = schemas.schema_for(CapitalProgramme, system, reply=True)()
    plan = schemas.schema_for(CapitalPlan, system, reply=True)()
    groups, best = schemas.schema_for(GroupTotal, system, reply=True)(), best_rows(final)
    return {
        "programme": schema.dump(whole_set),
        "plan": plan.dump(whole_set.plan) if whole_set.plan else None,
        "ranking": _ranking(final),
        "frontier": frontier(final).to_dict("records"),
        "groups": [groups.dump(one) for one in group_totals(final, best)],
    }


def _counting(search: Generator[None, None, Ended], done: int) -> Generator[int, None, Ended]:
    """Yield the same count at every yield of a search, and return its answer."""
    try:
        while True:
            next(search)
            yield done
    except StopIteration as end:
        answer: Ended = end.value
        return answer
    finally:
        search.close()


def _tried(final: pd.DataFrame) -> pd.DataFrame:
    """Return each building's alternative of greatest net savings, whether or not it saves."""
    known = final[final["net_savings"].notna() & final["net_savings_per_cost"].notna()]
    return known.loc[known.groupby("building")["net_savings"].idxmax()]


def _ranking(final: pd.DataFrame) -> list[dict[str, Any]]:
    names = ["building", "alternative", "rank", "in_budget", "planned_year"]
    return [
        {name: row[name] for name in names}
        for row in results_out.documents(final, Ranked, "si")
        if row["rank"] is not None
    ]


def cautions(results: pd.DataFrame) -> list[dict[str, Any]]:
    """Return every caution once, with how many buildings it fits.

    Cautions that differ only in their figures count as one, with the figures of the building
    named.
    """
    found: dict[str, dict[str, Any]] = {}
    for name, texts in results.drop_duplicates("building")[["name", "cautions"]].itertuples(
        index=False, name=None
    ):
        for told in texts:
            key = re.sub(r"\d[\d.,]*", "#", told)
            figures = name if "#" in key else None
            entry = found.setdefault(key, {"text": told, "figures_of": figures, "buildings": 0})
            entry["buildings"] += 1
    return list(found.values())
