"""The dangers of work on roofs: each sentence once, with the work that calls for it.

They stand in `data/words/cautions.csv`, for comparisons, take-offs, portfolios, page, paper and
files; `lcc.cautions` says which fit a case.
"""

from dataclasses import dataclass

from lcc import tables

CLIMB = "Before anyone climbs up"
STRUCTURE = "Structure"
FIRE = "Fire and code"
SURVEY = "What the survey leaves open"
FIGURES = "The figures"
GROUPS = (CLIMB, STRUCTURE, FIRE, SURVEY, FIGURES)

LEAST_SLOPE = 0.25 / 12


def too_flat(slope: float) -> bool:
    """Tell whether a slope (rise over run) is under 1/4 in 12; rounding does not count."""
    return slope < LEAST_SLOPE - 1e-9


@dataclass(frozen=True)
class RoofWork:
    """The facts of a building and of all work compared that choose the cautions."""

    metal: bool = False
    tear_off: bool = False
    membrane: bool = False
    recover: bool = False
    ballast: bool = False
    insulation: bool = False
    foam: bool = False
    asbestos_untested: bool = False
    asbestos_found: bool = False
    ponding: bool = False
    coal_tar: bool = False
    wet: bool = False
    shut_in_wet: bool = False
    wood_deck: bool = False
    units: bool = False
    solar_panels: bool = False
    lightning_protection: bool = False
    too_flat: bool = False
    wet_unknown: bool = False
    ponding_unknown: bool = False
    care: bool = False
    patients: bool = False
    ceiling: bool = False
    cold: bool = False
    two_parts: bool = False
    burns: bool = False
    skylights_under_metal: bool = False
    weak_deck: bool = False
    deck_unknown: bool = False
    public: bool = False
    bitumen_unknown: bool = False
    stone_off: bool = False

    @property
    def opened(self) -> bool:
        """Whether the roof is open for a time."""
        return self.metal or self.tear_off

    @property
    def metal_over_wood(self) -> bool:
        """Whether a metal roof makes a concealed space over a deck of wood, or one not known."""
        return self.metal and self.wood_deck

    @property
    def heavier(self) -> bool:
        """Whether the work may leave more weight on the building."""
        return self.metal or self.recover or self.ballast or self.insulation

    @property
    def asbestos_none_found(self) -> bool:
        """Whether the old roof was tested, and none was found."""
        return not (self.asbestos_found or self.asbestos_untested)


@dataclass(frozen=True)
class Caution:
    """A sentence, where it stands, the kind of work that calls for it ("": every work).

    `finding` is what a survey finds that puts a caution of every work first; `question` is what
    to ask the bidders of it.
    """

    group: str
    text: str
    when: str = ""
    finding: str = ""
    question: str = ""


DANGERS = tuple(Caution(**each) for each in tables.words("cautions"))
# The sentences for those who climb up and work, apart from those for who decides and pays.
FOR_THE_CREW = frozenset(one.text for one in DANGERS)


def dangers(work: RoofWork) -> tuple[Caution, ...]:
    """Return the dangers that some work on a roof brings.

    Examples
    --------
    >>> any(one.when == "ballast" for one in dangers(RoofWork(ballast=True)))
    True
    """
    return tuple(one for one in DANGERS if not one.when or getattr(work, one.when))
