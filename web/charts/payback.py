"""What each alternative has cost so far, in present value: the payback chart.

Every line is named at its end, every re-roofing is a step with its sum, and the year from which
the best alternative stays ahead says who is ahead. Words are placed here, by `placing`, for a
few widths of plot; the specification shows those that belong to the width it gets.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from lcc.case.document_values import spoken
from lcc.cost.payback_sentence import BY_WORTH
from lcc.figures import CENTS
from web import format as fmt
from web.charts import placing
from web.charts.figure import (
    LETTERS,
    Data,
    Figure,
    Reply,
    Row,
    Series,
    against_base,
    before_tax,
    clearly,
    paid_back,
    pivot,
    series_of,
    subject,
    who,
)
from web.charts.jobs import ChartJob, granted, jobs

HIGH = 312  # of the plot [px]
LANE = 18.0  # below the lowest figure, for the likely range [px]
ENDS = 196  # beside a wide plot, for the names of the lines [px]
WIDE = 560  # plots from this width have names at the ends of their lines [px]
NAMED = 5  # lines with a name at their end; more are drawn in grey
SIZE = 11.5  # of letters [px]
BAND = 11.0  # of letters in the likely range [px]
FAR_PX = 30.0  # words farther off than this get a thin line to their point [px]


@dataclass(frozen=True)
class _Range:
    """Widths of the chart from `low` to `high`, whose narrowest plot is `plot` [px]."""

    low: int
    high: int
    plot: int
    roomy: bool  # words in full; otherwise as short as they can be


_RANGES = (
    _Range(0, 430, 200, roomy=False),
    _Range(430, WIDE + ENDS, 370, roomy=False),
    _Range(WIDE + ENDS, 1080, WIDE, roomy=True),
    _Range(1080, 9999, 1080 - 60 - ENDS, roomy=True),
)


@dataclass(frozen=True)
class _Plot:
    """The chart's lines and scales: a year is `across` and a dollar is `up` pixels."""

    series: tuple[Series, ...]
    costs: dict[str, list[float]]
    bottom: float
    top: float
    subject: str

    @property
    def last(self) -> int:
        return len(self.costs["s0"]) - 1

    @property
    def up(self) -> float:
        return HIGH / (self.top - self.bottom)

    @property
    def base(self) -> float:
        return self.top * self.up

    def named(self) -> list[Series]:
        """The lines that are named: the base case, the answer's alternative, the next best."""
        ends = {one.id: self.costs[one.id][-1] for one in self.series}
        first = [one for one in self.series if one.id in ("s0", self.subject)]
        rest = sorted(
            (one for one in self.series if one not in first), key=lambda one: ends[one.id]
        )
        return [*first, *rest[: NAMED - len(first)]]

    def others(self) -> list[Series]:
        """The lines without a name."""
        return [one for one in self.series if one not in self.named()]

    def boxes(self, lines: Sequence[Series], across: float) -> placing.Boxes:
        """Where lines run, with so many pixels a year."""
        runs = (placing.steps(self.costs[one.id], across, self.up, self.base) for one in lines)
        return np.vstack([np.empty((0, 4)), *runs])


def figure(reply: Reply) -> Figure:
    """Return the cumulative present value of every alternative by year, as steps."""
    # Loaded here, since paper and command line need the data but not the half second of altair.
    from web.charts.payback_marks import spec  # noqa: PLC0415

    plot = _plot(reply)
    named = plot.named()
    return Figure(
        key="payback",
        title=title(reply),
        reading=reading(reply),
        spec=spec(tuple(one.id for one in named)),
        data=_data(reply, plot),
        table=pivot(_rows(plot, plot.series), plot.series, "year", "Year"),
        series=tuple(named),
        wide=True,
    )


def title(reply: Reply) -> str:
    """Return what the chart shows."""
    return f"What each choice has cost by each year{before_tax(reply)}"


def drawn(reply: Reply) -> tuple[tuple[Series, ...], Data]:
    """Return the named lines and the data of the chart, for a drawing without altair."""
    plot = _plot(reply)
    return tuple(plot.named()), _data(reply, plot)


def _plot(reply: Reply) -> _Plot:
    ends = [one["cumulative_present_value"][-1] for one in reply["alternatives"]]
    told, best = [fmt.brief(end) for end in ends], subject(reply)
    told[0], told[best] = fmt.side_by_side(ends[0], ends[best])
    series = tuple(
        Series(one.id, one.name, shown) for one, shown in zip(series_of(reply), told, strict=True)
    )
    costs = {
        one.id: [fmt.rounded(cost, "money") for cost in alternative["cumulative_present_value"]]
        for one, alternative in zip(series, reply["alternatives"], strict=True)
    }
    least = min(min(line) for line in costs.values())
    most = max(max(line) for line in costs.values())
    room = max(most - min(least, 0.0), 1.0)
    top = most + 0.13 * room
    least = least - 0.02 * room if least < 0 else 0.0
    bottom = least - (top - least) * LANE / (HIGH - LANE)
    return _Plot(series, costs, bottom, top, f"s{subject(reply)}")


def reading(reply: Reply) -> str:
    """Return the chart in one sentence: the best against the base case, and the likely years."""
    likely = str(against_base(reply)[1]["payback"]["likely"])
    return f"{_course(reply)}{likely and f'; {likely}'}."


def _course(reply: Reply) -> str:
    base, other = against_base(reply)
    costs = base["cumulative_present_value"], other["cumulative_present_value"]
    years = len(costs[0]) - 1
    amount = fmt.said(abs(costs[0][-1] - costs[1][-1]))
    start = costs[1][0] - costs[0][0]
    year = other["payback"]["year"]
    worth = f", only {BY_WORTH}" * other["payback"]["by_worth"]
    if all(abs(one - own) < 0.5 for one, own in zip(*costs, strict=True)):
        return f"“{other['name']}” costs the same as “{base['name']}” in every year"
    if reply["answer"]["state"] == "too-close":
        less = fmt.more_or_less(costs[0][-1] - costs[1][-1])
        since = f", and no more from year {year} on{worth}" if year else ""
        return (
            f"Too close to call: as entered, after {years} years “{other['name']}” has cost {less} "
            f"than “{base['name']}”{since}"
        )
    if year is None:
        return (
            f"“{other['name']}” does not catch up with “{base['name']}”: after {years} years "
            f"it has cost {amount} more"
        )
    if year == 0 and other["payback"]["clear_from"] == 0:
        return f"“{other['name']}” costs less from day one, and {amount} less by year {years}"
    more = fmt.more_or_less(-start)
    today = "the same" if abs(start) <= CENTS else more
    clear = other["payback"]["clear_from"]
    level = "" if clear == year else f"is clearly ahead from year {clear}, "
    return (
        f"“{other['name']}” costs {today} today, has cost no more than “{base['name']}” "
        f"from year {year} on{worth}, {level}and costs {amount} less by year {years}"
    )


def _rows(plot: _Plot, series: Sequence[Series]) -> list[Row]:
    return [
        {"year": year, "series": one.id, "cost": cost, "shown": fmt.shown(cost, "money")}
        for one in series
        for year, cost in enumerate(plot.costs[one.id])
    ]


def _data(reply: Reply, plot: _Plot) -> Data:
    named = plot.named()
    others = plot.others()
    return {
        "payback": _rows(plot, named),
        "payback_others": _rows(plot, others),
        "payback_scale": [{"year": 0, "cost": plot.bottom}, {"year": plot.last, "cost": plot.top}],
        "payback_band": list(_band(reply, plot)),
        "payback_events": [
            {"year": job.year, "series": one.id, "cost": plot.costs[one.id][job.year],
             "what": job.what, "shown": fmt.shown(job.cost, "money"), "name": one.name}
            for one, job in _worked(reply, plot)
        ],
        "payback_ahead": list(_ahead(reply, plot)),
        "payback_words": [row for one in _RANGES for row in _words(reply, plot, one)],
        "payback_ends": list(_ends(reply, plot)),
        "payback_years": _told(plot),
    }  # fmt: skip


def _told(plot: _Plot) -> list[Row]:
    """Every named line as text, year by year; a name that is taken gets a number."""
    told: dict[str, list[float]] = {}
    for place, one in enumerate(plot.named()):
        name = f"{one.name} ({place})" if one.name in (*told, "Year") else one.name
        told[name] = plot.costs[one.id]
    return [
        {"Year": year, **{name: fmt.shown(line[year], "money") for name, line in told.items()}}
        for year in range(plot.last + 1)
    ]


def _worked(reply: Reply, plot: _Plot) -> Iterator[tuple[Series, ChartJob]]:
    """Every piece of work on a named line."""
    for one in plot.named():
        for job in jobs(reply["alternatives"][int(one.id[1:])]):
            yield one, job


def _ahead(reply: Reply, plot: _Plot) -> Iterator[Row]:
    year = against_base(reply)[1]["payback"]["year"]
    if year:
        yield {"year": year, "series": plot.subject, "cost": plot.costs[plot.subject][year],
               "foot": plot.bottom + LANE / plot.up}  # fmt: skip


def _band(reply: Reply, plot: _Plot) -> Iterator[Row]:
    """The likely range of the year from which the best alternative stays ahead, or its words."""
    payback = against_base(reply)[1]["payback"]
    first, until_year = payback["likely_low"], payback["likely_high"]
    if not payback["likely"]:
        return
    open_end = plot.last if until_year is None else until_year
    first, last = (0, 0) if first is None else (first, open_end)
    late = first > plot.last / 2
    brief = in_brief(payback["likely"])
    named = f"{_called(reply)}{', ' if brief.startswith('likely') else ': '}{brief}"
    for one in _RANGES:
        room = one.plot * (last if late else plot.last - first) / plot.last
        text = named if placing.width(named, BAND) < room else brief
        fits = placing.width(text, BAND) < room  # else it stands at the end of the chart
        yield {"first": first, "last": last, "bottom": plot.bottom, "text": text,
               "at": (last if late else first) if fits else plot.last,
               "align": "left" if fits and not late else "right",
               "low": one.low, "high": one.high, "wide": one.plot == WIDE}  # fmt: skip


def in_brief(likely: str) -> str:
    """Return the words of a likely range that stand in the narrowest chart.

    Examples
    --------
    >>> in_brief("likely: year 13 or later, in 16 of 100 random runs never")
    'likely: year 13 or later'
    >>> in_brief("82 of 100 random runs never pay back")
    '82 of 100 runs never'
    """
    return likely.partition(",")[0].replace(" random runs never pay back", " runs never")


def _called(reply: Reply) -> str:
    """Name the payback of the alternative that the answer speaks of, as its card does."""
    return f"{who(reply)} {spoken(paid_back(reply))}"


def short(job: ChartJob) -> str:
    """Return what is done to a roof in the two or three words that a contractor would use.

    Examples
    --------
    >>> short(ChartJob(2, ("EPDM laid", "Tear-off of 2 coverings"), "", 1.0))
    'tear-off, new membrane'
    >>> short(ChartJob(2, ("EPDM laid over the old membrane",), "", 1.0))
    'membrane on top'
    """
    words = " ".join(job.parts).lower()
    if "metal roof" in words:
        return "metal roof"
    if "tear-off" in words:
        return "tear-off, new membrane"
    if "coating" in words:
        return "coating"
    return "membrane on top" if "over the old" in words else job.parts[0].lower()


def _words(reply: Reply, plot: _Plot, one: _Range) -> Iterator[Row]:
    """What each large step is, and who is ahead from when, in the room that there is."""
    across = one.plot / plot.last
    taken = plot.boxes(plot.named(), across)
    faint = plot.boxes(plot.others(), across)
    for said in _sayings(reply, plot, one.roomy):
        at = across * said.year, plot.base - plot.up * said.cost
        for text in said.texts:
            wide = placing.width(text, SIZE, bold=said.strong)
            spot, box, clear = placing.placed(at, wide, taken, faint, (one.plot, HIGH - LANE))
            if clear:
                break
        if not clear:
            continue  # the card says who is ahead, the table what each step cost
        taken = np.vstack([taken, box])
        yield {"year": said.year, "y": round(at[1] + spot.dy, 1), "dx": spot.dx, "text": text,
               "series": said.series, "strong": said.strong, "from": round(at[1], 1),
               "low": one.low, "high": one.high, "far": abs(spot.dy) > FAR_PX,
               "wide": one.plot == WIDE, "align": "right" if spot.left else "left"}  # fmt: skip


@dataclass(frozen=True)
class _Saying:
    """Words beside a point of a line, shorter ones where the first find no room."""

    series: str
    year: int
    cost: float
    texts: tuple[str, ...]
    strong: bool = False


def _sayings(reply: Reply, plot: _Plot, roomy: bool) -> Iterator[_Saying]:
    """Who is ahead, the large steps of base case and best alternative, and what is paid today."""
    for row in _ahead(reply, plot):
        words = _ahead_words(reply)
        yield _Saying(plot.subject, row["year"], row["cost"], words[not roomy :], strong=True)
    told = [(one, job) for one, job in _worked(reply, plot) if one.id in ("s0", plot.subject)]
    largest = max((job.cost for _, job in told), default=0.0)
    for one, job in sorted(told, key=lambda pair: pair[1].year == 0):
        if job.cost > largest / 6:
            name, cost = short(job), plot.costs[one.id][job.year]
            paid = granted(reply["alternatives"][int(one.id[1:])], job.year)
            after = " after grant" * (paid < 0)
            brief = fmt.brief(job.cost + paid) + after  # the same in less and less room
            texts = (f"{name}, {fmt.said(job.cost + paid)}{after}", f"{name}, {brief}",
                     f"{name.partition(', ')[0]}, {brief}", brief)  # fmt: skip
            yield _Saying(one.id, job.year, cost, texts[not roomy :])


def _ahead_words(reply: Reply) -> tuple[str, ...]:
    """Say in which year it pays back and from when it is clearly ahead, the longest first."""
    name, payback = who(reply), against_base(reply)[1]["payback"]
    year, clear = payback["year"], payback["clear_from"]
    said = f"{_called(reply)}, year {year}"
    if clear != year:
        both = [f"{said}, {clearly(reply)} from year {clear}"] if clear else []
    elif paid_back(reply) != "Paid back":
        both = []
    else:
        good = f"ahead for good, year {year}"
        both = [f"{_called(reply)} and {good}", f"{name} {good}"]
    return (*both, said, said.removeprefix(f"{name} "))


def _ends(reply: Reply, plot: _Plot) -> Iterator[Row]:
    """The name of each line at its end, what it comes to, and the value left within that."""
    named = plot.named()
    few = len(named) < NAMED
    blocks = [_block(reply["alternatives"][int(one.id[1:])], one, few) for one in named]
    heights = [placing.LINE * len(block) + 5 for block in blocks]
    wanted = [plot.base - plot.up * plot.costs[one.id][-1] - 10 for one in named]
    for one, block, top in zip(
        named, blocks, placing.spread(wanted, heights, HIGH + 26.0), strict=True
    ):
        for line, (text, kind) in enumerate(block):
            yield {"year": plot.last, "y": round(top + placing.LINE * (line + 0.8), 1),
                   "text": text, "strong": kind == "name", "kind": kind,
                   "series": one.id}  # fmt: skip


def _block(alternative: Reply, one: Series, few: bool) -> list[tuple[str, str]]:
    left = sum(c["present_value"] for c in alternative["costs"] if c["name"] == "Residual value")
    total = alternative["cumulative_present_value"][-1]
    two_digits = float(f"{-left:.2g}")
    year, worth = len(alternative["cumulative_present_value"]) - 1, fmt.brief(two_digits)
    after = f"after {worth} of value left"
    notes = (after, f"(today’s money, year {year})")[: 2 if few else 1]
    words = [(line, "name") for line in placing.wrapped(one.name, LETTERS)]
    told = notes if -left > abs(total) / 200 else ()
    return [*words, (one.shown, "amount"), *((note, "note") for note in told)]
