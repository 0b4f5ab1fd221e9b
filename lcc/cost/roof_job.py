"""One job on the roof: its kind, what it is done on, and what a ruling on a duty looks like."""

import math
from dataclasses import dataclass, replace

from lcc.case.fields import Origin
from lcc.cost import roof_states
from lcc.cost.roof_states import InPlace, Setting
from lcc.cost.work import INSULATION, TEAR_OFF, Ruling, Work

REPLACEMENT, RECOVER, COATING, FRAMED, NEW_PANELS = (
    "replacement", "recover", "coating", "framed metal", "new panels",
)  # fmt: skip
DONE, NOT_NEEDED, LEFT_OUT, OPEN = "done", "not-needed", "left-out", "open-question"

# A post or fastener pierces the old roof here and there: the part of it that a framed roof opens.
PIERCED = 0.05

IBC_1511_3 = "International Building Code 2021, 1511.3.1.1"
IBC_FRAMED = "International Building Code 2021, 1511.3.1, complete and separate roof systems"
PRACTICE = "common practice"
ITS_PRICE = "the price entered"  # source of what a job's price holds
CHOICE = "the owner's choice"
CHEAPEST = "cheapest over the study period"
BY_COST = Origin("common practice", CHEAPEST)  # of a way of laying that nobody entered
BY_PRICE = Origin("entered", "the price entered holds the tear-off")


def tear_off_chosen(origin: Origin) -> tuple[str, str]:
    """Return why a roof is torn off though the code does not ask for it, and who says so."""
    if origin == BY_COST:
        return f"not entered; the tool takes tear-off, the {CHEAPEST}", CHEAPEST
    return BY_PRICE.source if origin == BY_PRICE else "tear-off is entered", CHOICE


@dataclass(frozen=True)
class Surveyed:
    """What a framing survey finds that decides a duty: skylights covered over."""

    skylights_covered: int = 0
    skylight_cover: float = 0.0


@dataclass(frozen=True)
class Job:
    """One job on the roof: its kind, what it is done on, and what it lays there.

    `laid_per_m2` is the price of laying [money/m²]; `holds` the duties inside an entered price;
    `adds_m` and `adds_kg_m2` what the job puts on the deck or the old roof; `board_m2k_w`
    insulation added by duty or choice and `taper_m` the mean thickness of tapered boards.
    `price_from` says what the price is, and `counted` the duties of which it holds what a survey
    counts, so that only the rest of them is left on the roof. `stays` is the part of the price of
    laying that later jobs keep: framing, and insulation laid with it.
    """

    kind: str
    why: str
    setting: Setting
    place: InPlace
    what: str
    laid_per_m2: float
    holds: frozenset[str] = frozenset({"covering"})
    torn_off: bool = False
    tear_off_why: str = ""
    tear_off_source: str = IBC_1511_3
    adds_m: float = 0.0
    adds_kg_m2: float = 0.0
    board_m2k_w: float = 0.0
    target_m2k_w: float | None = None
    insulation_wanted: bool = True
    taper_m: float = 0.0
    keep_wet: bool = False
    falls: tuple[float, ...] = (0.0,)
    lasts: bool = True
    price_from: str = ITS_PRICE
    counted: frozenset[str] = frozenset()
    stays: float = 0.0
    surveyed: Surveyed = Surveyed()

    @property
    def area_m2(self) -> float:
        """Roof area [m²]."""
        return self.setting.roof.area_m2

    @property
    def wet(self) -> float:
        """The wet part of the insulation that this job takes out."""
        return 0.0 if self.keep_wet else self.place.wet_fraction

    @property
    def opened(self) -> float:
        """The part of the old roof that this job opens."""
        if self.torn_off:
            return 1.0
        return min(1.0, self.wet + (PIERCED if self.kind == FRAMED else 0.0))


def ruling(duty: str, why: str, source: str, *works: Work) -> Ruling:
    """Return a duty that is done, with its works."""
    own = (
        Work(one.what, one.why, one.category, one.cost, one.every_y, one.lasts, one.stays,
             duty, one.on_laying, one.wet_cost)
        for one in works
    )  # fmt: skip
    return Ruling(duty, DONE, why, source, tuple(own))


def nothing_left(job: Job, duty: str, why: str) -> Ruling:
    """Return a duty of which nothing is left to do: the survey's price holds it, or none is."""
    return in_price(job, duty) if duty in job.counted else not_needed(duty, why)


def not_needed(duty: str, why: str, source: str = PRACTICE) -> Ruling:
    """Return a duty that nothing asks for in this job."""
    return Ruling(duty, NOT_NEEDED, why, source)


def in_price(job: Job, duty: str) -> Ruling:
    """Return a duty that the price of laying already holds."""
    return Ruling(duty, DONE, f"in {job.price_from}", job.price_from)


def wet_works(job: Job, why: str) -> tuple[Work, ...]:
    """Return the work of taking wet insulation out of a job's roof and replacing it by dry."""
    prices, area = job.setting.prices, job.wet * job.area_m2
    bare = roof_states.without_coverings(job.place.layers)
    mass = roof_states.insulation_mass_kg_m2(bare)
    out = float(prices.disposal_per_kg or 0) * mass
    new = float(prices.insulation_per_m2 or 0) * roof_states.insulation_m2k_w(bare)
    if not job.torn_off:
        kept = math.fsum(each.kg_m2 - each.loose_kg_m2 for each in job.place.coverings)
        out += float(prices.tear_off_per_m2 or 0) * len(job.place.coverings)
        out += float(prices.disposal_per_kg or 0) * kept
        out += float(job.setting.duty_prices.wet_patch_per_m2 or 0)
    works = (
        Work("Wet insulation taken out and disposed of", why, TEAR_OFF, out * area),
        Work("Wet insulation replaced by dry", why, INSULATION, new * area, stays=1.0),
    )
    return tuple(replace(work, wet_cost=work.cost) for work in works if work.cost)
