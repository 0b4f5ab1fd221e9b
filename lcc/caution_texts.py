"""The dangers of work on roofs: sentences that stand here once, with the work that calls for them.

For comparisons, takeoffs, portfolios, page, paper and files; `lcc.cautions` says which fit a case.
"""

from __future__ import annotations

from dataclasses import dataclass

CLIMB = "Before anyone climbs up"
STRUCTURE = "Structure"
FIRE = "Fire and code"
SURVEY = "What the survey leaves open"
FIGURES = "The figures"
GROUPS = (CLIMB, STRUCTURE, FIRE, SURVEY, FIGURES)

LEAST_SLOPE = 0.25 / 12


@dataclass(frozen=True)
class Caution:
    """A sentence, where it stands, and the kind of work that calls for it ("": every work)."""

    group: str
    text: str
    when: str = ""


@dataclass(frozen=True)
class RoofWork:
    """What of a building and of all the work compared decides which dangers are named."""

    metal: bool = False
    tear_off: bool = False
    membrane: bool = False
    recover: bool = False
    ballast: bool = False
    insulation: bool = False
    hot: bool = False
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
    hot_over_wood: bool = False
    skylights_under_metal: bool = False

    @property
    def opened(self) -> bool:
        """Whether the roof is open for a time."""
        return self.metal or self.tear_off

    @property
    def metal_over_wood(self) -> bool:
        """Whether a metal roof makes a concealed space over a deck that burns."""
        return self.metal and self.wood_deck


DANGERS = (
    Caution(
        CLIMB,
        "Work at height: fall protection and a safe way up come before any inspection or work "
        "(29 CFR 1926.501 and 1926.1053 in the United States).",
    ),
    Caution(
        CLIMB,
        "Nobody works on a roof alone or without a way to call for help. After dark the work, "
        "the edges and the way down are lit, or the work stops.",
    ),
    Caution(
        CLIMB,
        "Falls through skylights and hatches and over edges kill. Guard or cover each one, mark "
        "the covers, and never step on a skylight.",
    ),
    Caution(
        CLIMB,
        "Work on the roof stops for wind, ice, heat and lightning. Loose boards and panels fly in "
        "wind: tie them down, and do not lift them in it.",
    ),
    Caution(
        CLIMB,
        "A deck can be rusted, rotten or weak under a covering that looks sound. Have it checked "
        "from below before people and loads go up.",
    ),
    Caution(
        CLIMB,
        "Poured gypsum, cement-bonded wood fibre and lightweight fill lose strength when wet "
        "and can drop a worker without warning. Nobody walks on such a deck or fastens to it "
        "until an engineer has looked at it from below.",
    ),
    Caution(
        CLIMB,
        "A parapet is no guardrail unless it is high and sound enough, and an old one may fall. "
        "Guard the edge, fence off the ground below, and have a plan and the gear to rescue a "
        "worker caught by a harness.",
    ),
    Caution(
        CLIMB,
        "A flue that is covered, cut or moved while its appliance runs fills rooms with carbon "
        "monoxide. Shut off and lock out each appliance first, and test its draft before "
        "people stay in the rooms.",
    ),
    Caution(
        CLIMB,
        "Nobody has surveyed this roof for moisture. Treat every part as wet, with a weak deck, "
        "until cores and a look from below show otherwise.",
        "wet_unknown",
    ),
    Caution(
        CLIMB,
        "Nobody has looked whether water stands on this roof. Look 48 hours after rain, before "
        "people and loads go up.",
        "ponding_unknown",
    ),
    Caution(
        CLIMB,
        "Children or patients are below. Do hot, dusty or smelly work while they are out, or "
        "agree hours and closed rooms with those who care for them, and with a hospital's "
        "infection control. Lock ladders and gates when work stops.",
        "care",
    ),
    Caution(
        CLIMB,
        "Wet insulation hides a weak deck. Keep people and loads off wet parts until the deck "
        "under them has been checked.",
        "wet",
    ),
    Caution(
        CLIMB,
        "Tear-off leaves holes. Cover or guard each one at once, and keep people out from under "
        "an open deck.",
        "tear_off",
    ),
    Caution(
        CLIMB,
        "Open no more roof in a day than can be made watertight the same day, and keep covers on "
        "the roof.",
        "opened",
    ),
    Caution(
        CLIMB,
        "Roofing felts, mastics, boards and flashings may hold asbestos. Have them inspected and "
        "tested before anyone cuts, drills, washes or tears off; United States law asks for the "
        "inspection (40 CFR 61.145).",
    ),
    Caution(
        CLIMB,
        "Nobody has tested this roof for asbestos. Until a laboratory says otherwise, treat every "
        "part of it as asbestos.",
        "asbestos_untested",
    ),
    Caution(
        CLIMB,
        "Cutting, drilling or grinding concrete, mortar, brick or tile, and sweeping gravel, makes "
        "silica dust that scars lungs. Keep it wet or draw it off at the tool (29 CFR 1926.1153). "
        "Droppings of birds and bats carry disease: wet them, and wear a mask.",
    ),
    Caution(
        CLIMB,
        "Old paint on decks and steel, and old flashings, may hold lead. Test before anyone burns, "
        "welds, cuts or grinds them (29 CFR 1926.62).",
    ),
    Caution(
        CLIMB,
        "Asbestos was found in the old roof. Only licensed abatement contractors cut, drill or "
        "remove it, after notice to the authorities, and nobody else works near it meanwhile.",
        "asbestos_found",
    ),
    Caution(
        CLIMB,
        "Spraying foam gives off isocyanates, which harm lungs. The crew breathes supplied air, "
        "intakes are shut, and nobody comes back before the foam's maker allows it.",
        "foam",
    ),
    Caution(
        CLIMB,
        "Coal-tar pitch burns skin and eyes, and its dust and fumes can cause cancer. Protect the "
        "crew and the people below before it is cut, heated or torn off.",
        "coal_tar",
    ),
    Caution(
        CLIMB,
        "Find gas and refrigerant pipes, cables, solar panels and lightning conductors on, in and "
        "under the roof, and power lines above it, before anyone drills, cuts or lifts. Only "
        "licensed trades disconnect and connect gas, refrigerant and electricity.",
    ),
    Caution(
        CLIMB,
        "Radio waves from an antenna on or near the roof burn without warning. Ask its owner to "
        "switch it off, or how far to stay away, before anyone works near it (47 CFR 1.1310).",
    ),
    Caution(
        CLIMB,
        "Exhausts on a roof blow out grease, fumes of laboratories, germs of sick rooms or "
        "ammonia. Find out what comes from each before anyone works near it. Grease is slippery "
        "and burns: have it removed first.",
    ),
    Caution(
        CLIMB,
        "Before a rooftop unit is switched off, ask whoever runs the building what must keep "
        "running, such as wards, cold rooms and computers, and set up what serves them "
        "meanwhile. Then lock it out and lift it under a lifting plan, with nobody below. Moving "
        "a unit or closing it in can end its warranty: ask its maker first.",
        "units",
    ),
    Caution(
        CLIMB,
        "Solar panels are live whenever light falls on them. Only licensed electricians take them "
        "down; ask about their warranty, weight and paths for the fire service before they go "
        "back.",
        "solar_panels",
    ),
    Caution(
        CLIMB,
        "Lightning protection is taken down and put back by qualified installers, tied to any "
        "new metal, and tested before the roof is handed over.",
        "lightning_protection",
    ),
    Caution(
        CLIMB,
        "Fumes of adhesives, coatings, asphalt and torches enter by air intakes, doors and "
        "windows. Agree with whoever runs the building when intakes close, and warn the people "
        "inside.",
    ),
    Caution(
        CLIMB,
        "The space between the roofs is low, hot and dark, with few ways out. Nobody enters it "
        "alone, or before the air is checked and someone outside keeps watch (29 CFR 1926.1203).",
        "metal",
    ),
    Caution(
        CLIMB,
        "Keep exits, fire lanes and hydrants open, and keep people away from lifts, chutes and "
        "falling material, while the building is in use.",
    ),
    Caution(
        STRUCTURE,
        "Keep every drain and overflow open during and after the work: debris, covers or a "
        "raised edge can hold enough rain to bring a roof down.",
    ),
    Caution(
        STRUCTURE,
        "Roofing stacked on a deck can overload it. A licensed structural engineer says how much "
        "may stand where.",
    ),
    Caution(
        STRUCTURE,
        "Water stands on this roof, and its weight grows as the deck sags: keep people and loads "
        "off it until a licensed structural engineer has checked the deck.",
        "ponding",
    ),
    Caution(
        STRUCTURE,
        "A metal roof over the old one adds dead load, changes snow drift and wind uplift: a "
        "licensed structural engineer must check building, deck and fastening before it is "
        "ordered.",
        "metal",
    ),
    Caution(
        STRUCTURE,
        "Wind takes a roof from its edges. Fastening, adhesive and edge metal are designed for "
        "the wind on this building, not copied from the old roof.",
        "membrane",
    ),
    Caution(
        STRUCTURE,
        "A recover adds the weight of a new covering to the old one: a licensed structural "
        "engineer must check that the roof carries both, with snow and ponded water.",
        "recover",
    ),
    Caution(
        STRUCTURE,
        "Stone ballast weighs 10 lb/ft² (50 kg/m²) or more: a licensed structural engineer must "
        "check the roof for it, and that wind cannot lift the stones.",
        "ballast",
    ),
    Caution(
        STRUCTURE,
        "More insulation keeps the face of the roof colder, so snow stays longer: where it snows, "
        "a licensed structural engineer must check the snow load.",
        "insulation",
    ),
    Caution(
        STRUCTURE,
        "Snow and ice slide off metal. Keep them from falling on entrances and walks; guards that "
        "hold snow back add load for the structural engineer to check.",
        "metal",
    ),
    Caution(
        STRUCTURE,
        "Insulation is partly wet. Under a recover, a metal roof or a coating water stays in: "
        "find the leaks, test the deck for rust or rot, and remove what is soaked.",
        "shut_in_wet",
    ),
    Caution(
        FIRE,
        "A fire class (A, B or C) belongs to the whole assembly: deck, insulation, coverings and "
        "slope. Ask for a listed assembly that includes what stays of the old roof.",
    ),
    Caution(
        FIRE,
        "Torches, kettles, hot-air welders, welding, cutting and grinding start roof fires. Ask "
        "for a hot-work permit, extinguishers at hand, and a fire watch after work has stopped.",
        "hot",
    ),
    Caution(
        FIRE,
        "Wood, fibre board, attics and wall cavities burn unseen for hours. Lay no sheet with a "
        "flame on or beside them, and let no spark in through gaps at curbs, edges and walls.",
        "hot_over_wood",
    ),
    Caution(
        FIRE,
        "Sprinklers, detectors, alarms and smoke vents stay in service. Any shut-off is agreed "
        "with the fire service and the insurer, has a fire watch, and ends the same day.",
    ),
    Caution(
        FIRE,
        "A second roof makes a concealed space. Ask building and fire officials about "
        "draft-stopping, sprinklers, access and ventilation in it before it is designed.",
        "metal",
    ),
    Caution(
        FIRE,
        "The space under a metal roof is as cold as outdoors. Where it freezes, sprinkler and "
        "water pipes in it burst: a licensed sprinkler designer says where they run, or makes "
        "them dry.",
        "metal",
    ),
    Caution(
        FIRE,
        "No gas pipe may end in the space between the roofs or run through it unseen. Reroute "
        "it, or have the gas authority agree to how it is sleeved, vented and reached.",
        "metal",
    ),
    Caution(
        FIRE,
        "A skylight closed in under metal takes away daylight and perhaps a smoke vent. Have "
        "the fire official agree what replaces it; the old opening stays covered and marked, "
        "since a worker in the cavity can still fall through.",
        "skylights_under_metal",
    ),
    Caution(
        FIRE,
        "The old deck is wood. Draft-stops then divide the concealed space into areas of at most "
        "3,000 ft² (279 m²), unless the whole building has sprinklers (International Building "
        "Code 2012, 718.4).",
        "metal_over_wood",
    ),
    Caution(
        FIRE,
        "Carry every flue, vent, exhaust, air intake, smoke vent, drain and fire wall of the old "
        "roof through the new one. None may end in the cavity.",
        "metal",
    ),
    Caution(
        FIRE,
        "Slope below 1/4 in 12, the least that the International Building Code (1507.4.2) asks "
        "of standing seam.",
        "too_flat",
    ),
    Caution(FIRE, "Local code and the authority having jurisdiction decide what may be built."),
    Caution(
        FIRE,
        "Licensed engineers, architects and contractors design and do the work: nothing here is "
        "a design or an approval.",
    ),
)


def dangers(work: RoofWork) -> tuple[Caution, ...]:
    """Return the dangers that some work on a roof brings.

    Examples
    --------
    >>> [one.text[:29] for one in dangers(RoofWork(metal=True)) if one.when == "metal"][1]
    'A metal roof over the old one'
    """
    return tuple(one for one in DANGERS if not one.when or getattr(work, one.when))
