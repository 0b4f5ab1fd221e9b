"""The dangers of work on roofs: sentences that stand here once, with the work that calls for them.

For comparisons, takeoffs, portfolios, page, paper and files; `lcc.cautions` says which fit a case.
"""

from __future__ import annotations

from dataclasses import dataclass

from lcc.roof_work import RoofWork

CLIMB = "Before anyone climbs up"
STRUCTURE = "Structure"
FIRE = "Fire and code"
SURVEY = "What the survey leaves open"
FIGURES = "The figures"
GROUPS = (CLIMB, STRUCTURE, FIRE, SURVEY, FIGURES)

LEAST_SLOPE = 0.25 / 12


@dataclass(frozen=True)
class Caution:
    """A sentence, where it stands, the kind of work that calls for it ("": every work), an order.

    The order, `brief`, says in at most 56 letters what to do, where there is no room for more.
    """

    group: str
    text: str
    when: str = ""
    brief: str = ""


DANGERS = (
    Caution(
        CLIMB,
        "Work at height: fall protection and a safe way up come before any inspection or work "
        "(29 CFR 1926.501 and 1926.1053 in the United States). Lock ladders and gates when work "
        "stops.",
        brief="Fall protection and a safe way up come first.",
    ),
    Caution(
        CLIMB,
        "Nobody works on a roof alone or without a way to call for help. After dark the work, "
        "the edges and the way down are lit, or the work stops.",
        brief="Let nobody work alone or in the dark.",
    ),
    Caution(
        CLIMB,
        "Falls through skylights and hatches and over edges kill. Guard or cover each one, mark "
        "the covers, and never step on a skylight.",
        brief="Guard edges and hatches; never step on a skylight.",
    ),
    Caution(
        CLIMB,
        "Work on the roof stops for wind, ice, heat and lightning. Loose boards and panels fly in "
        "wind: tie them down, and do not lift them in it.",
        brief="Stop for wind, ice, heat and lightning.",
    ),
    Caution(
        CLIMB,
        "A deck can be rusted, rotten or weak under a covering that looks sound. Have it checked "
        "from below before people and loads go up.",
        brief="Have the deck checked from below first.",
    ),
    Caution(
        CLIMB,
        "Poured gypsum, cement-bonded wood fibre and lightweight fill lose strength when wet "
        "and can drop a worker without warning. Nobody walks on such a deck or fastens to it "
        "until an engineer has looked at it from below.",
        "deck_may_be_weak",
        brief="Walk on no gypsum or wood-fibre deck unchecked.",
    ),
    Caution(
        CLIMB,
        "Above a ceiling or in an attic step on joists or boards laid over them only: a ceiling "
        "drops whoever steps on it.",
        "ceiling",
        brief="Above a ceiling step on joists only.",
    ),
    Caution(
        CLIMB,
        "Hammers, loads set down and drills shake plaster and tiles off a ceiling. Clear the rooms "
        "below, and look at the ceiling before work and each day.",
        "ceiling",
        brief="Clear rooms below: plaster shakes loose.",
    ),
    Caution(
        CLIMB,
        "A parapet is no guardrail unless it is sound and about 42 in (1.07 m) high (29 CFR "
        "1926.502), and an old one may fall. Guard the edge, fence off the ground below, and have "
        "a plan and the gear to rescue a worker caught by a harness.",
        brief="Trust no low parapet; plan a rescue from a harness.",
    ),
    Caution(
        CLIMB,
        "A flue that is covered, cut or moved while its appliance runs fills rooms with carbon "
        "monoxide. Shut off and lock out each appliance first, and test its draft before "
        "people stay in the rooms.",
        brief="Shut off an appliance before touching its flue.",
    ),
    Caution(
        CLIMB,
        "Nobody has surveyed this roof for moisture. Treat every part as wet, with a weak deck, "
        "until cores and a look from below show otherwise.",
        "wet_unknown",
        brief="Treat the roof as wet until cores show otherwise.",
    ),
    Caution(
        CLIMB,
        "Nobody has looked whether water stands on this roof. Look 48 hours after rain, before "
        "people and loads go up.",
        "ponding_unknown",
        brief="Look for standing water 48 hours after rain.",
    ),
    Caution(
        CLIMB,
        "Water stands on this roof, and its weight grows as the deck sags: keep people and loads "
        "off it until a licensed structural engineer has checked the deck.",
        "ponding",
        brief="Keep off a ponded roof until the deck is checked.",
    ),
    Caution(
        CLIMB,
        "People work, shop or eat below. Do noisy, hot or dusty work over them while they are out, "
        "or close what lies under it and the doors beside it. Let no dust fall on food.",
        "public",
        brief="Close rooms under the work, or work after hours.",
    ),
    Caution(
        CLIMB,
        "Children, patients, guests or a crowd may be below. Do hot, dusty or smelly work while "
        "they are out, or agree hours and closed rooms with those in charge of them, and with a "
        "hospital's infection control.",
        "care",
        brief="Agree hours with those in charge of people below.",
    ),
    Caution(
        CLIMB,
        "At a hospital or clinic, ask first about helicopters, oxygen pipes and vents, generators, "
        "the vent of an MRI magnet, and rooms that vibration harms. Block none, and bring no "
        "flame near oxygen.",
        "patients",
        brief="Ask a hospital about helipad, oxygen and MRI vent.",
    ),
    Caution(
        CLIMB,
        "Wet insulation hides a weak deck. Keep people and loads off wet parts until the deck "
        "under them has been checked.",
        "wet",
        brief="Keep off wet parts until the deck is checked.",
    ),
    Caution(
        CLIMB,
        "Tear-off leaves holes. Cover or guard each one at once, and keep people out from under "
        "an open deck.",
        "tear_off",
        brief="Cover holes at once; keep people from under them.",
    ),
    Caution(
        CLIMB,
        "Open no more roof in a day than can be made watertight the same day, and keep covers on "
        "the roof.",
        "opened",
        brief="Open no more roof than is watertight by night.",
    ),
    Caution(
        CLIMB,
        "Roofing felts, mastics, boards and flashings may hold asbestos. Have them inspected and "
        "tested before anyone cuts, drills, washes or tears off; United States law asks for the "
        "inspection (40 CFR 61.145).",
        "asbestos_not_found",
        brief="Have the roof inspected for asbestos before work.",
    ),
    Caution(
        CLIMB,
        "Nobody has tested this roof for asbestos. Until a laboratory says otherwise, treat every "
        "part of it as asbestos.",
        "asbestos_untested",
        brief="Treat an untested roof as asbestos.",
    ),
    Caution(
        CLIMB,
        "Cutting, drilling or grinding concrete, mortar, brick or tile, and sweeping gravel, makes "
        "silica dust that scars lungs. Keep it wet or draw it off at the tool (29 CFR 1926.1153). "
        "Droppings of birds and bats carry disease: wet them, and wear a NIOSH-approved, "
        "fit-tested respirator, N95 or better.",
        brief="Keep silica dust and droppings wet; wear a respirator.",
    ),
    Caution(
        CLIMB,
        "Old paint on decks and steel, and old flashings, may hold lead. Test before anyone burns, "
        "welds, cuts or grinds them (29 CFR 1926.62).",
        brief="Test old paint and flashings for lead.",
    ),
    Caution(
        CLIMB,
        "Asbestos was found in the old roof. Only licensed abatement contractors cut, drill or "
        "remove it, after notice to the authorities, and nobody else works near it meanwhile. "
        "What was not tested counts as asbestos too (40 CFR 61.145).",
        "asbestos_found",
        brief="Let only licensed abatement touch the asbestos.",
    ),
    Caution(
        CLIMB,
        "Spraying foam gives off isocyanates, which harm lungs. The crew breathes supplied air, "
        "intakes are shut, and nobody comes back before the foam's maker allows it.",
        "foam",
        brief="Spray foam with supplied air and intakes shut.",
    ),
    Caution(
        CLIMB,
        "Coal-tar pitch in an old roof burns skin and eyes, and its dust and fumes can cause "
        "cancer. Protect the crew and the people below before it is cut, heated or torn off.",
        "coal_tar",
        brief="Protect crew and people below from coal-tar pitch.",
    ),
    Caution(
        CLIMB,
        "Which bitumen holds the old built-up roof, asphalt or coal tar? Coal tar burns skin and "
        "eyes and can cause cancer: until a laboratory says asphalt, protect the crew and the "
        "people below from it.",
        "bitumen_unknown",
        brief="Treat old bitumen as coal tar until it is tested.",
    ),
    Caution(
        CLIMB,
        "A cold store's foam-core panels burn, and ammonia kills. Ask who runs its plant before "
        "work, and know its alarm and the way out.",
        "cold",
        brief="Cold store: panels burn, ammonia kills. Ask first.",
    ),
    Caution(
        CLIMB,
        "Find gas and refrigerant pipes, cables, solar panels and lightning conductors on, in and "
        "under the roof, and power lines above it, before anyone drills, cuts or lifts. Look from "
        "below too: a screw through the deck can pierce a sprinkler pipe, gas pipe or conduit hung "
        "under it. Only licensed trades disconnect and connect gas, refrigerant and electricity.",
        brief="Find pipes and cables, under the deck too.",
    ),
    Caution(
        CLIMB,
        "Radio waves from an antenna on or near the roof burn without warning. Ask its owner to "
        "switch it off, or how far to stay away, before anyone works near it (47 CFR 1.1310).",
        brief="Have antennas off, or keep the distance told.",
    ),
    Caution(
        CLIMB,
        "Exhausts on a roof blow out grease, fumes of laboratories, germs of sick rooms or "
        "ammonia. Find out what comes from each before anyone works near it. Mist of a cooling "
        "tower can carry germs that kill (Legionella): keep out of it. Grease is slippery and "
        "burns: have it removed first.",
        brief="Find out what each exhaust blows out.",
    ),
    Caution(
        CLIMB,
        "Before a rooftop unit is switched off, ask whoever runs the building what must keep "
        "running, such as wards, cold rooms and computers, and set up what serves them "
        "meanwhile. Then lock it out and lift it under a lifting plan, with nobody below. Moving "
        "a unit or closing it in can end its warranty: ask its maker first.",
        "units",
        brief="Ask what must keep running before a unit is off.",
    ),
    Caution(
        CLIMB,
        "Solar panels are live whenever light falls on them. Only licensed electricians take them "
        "down; ask about their warranty, weight and paths for the fire service before they go "
        "back.",
        "solar_panels",
        brief="Let only electricians take down live solar panels.",
    ),
    Caution(
        CLIMB,
        "Lightning protection is taken down and put back by qualified installers, tied to any "
        "new metal, and tested before the roof is handed over.",
        "lightning_protection",
        brief="Have lightning protection put back and tested.",
    ),
    Caution(
        CLIMB,
        "Fumes of adhesives, coatings, asphalt and torches, and exhaust of kettles, generators and "
        "compressors, enter by air intakes, doors and windows. Set engines away from them. "
        "Agree when intakes close, and warn the people inside, every tenant of a row of shops too.",
        brief="Agree when intakes close; warn everybody inside.",
    ),
    Caution(
        CLIMB,
        "The space between the roofs is low, hot and dark, with few ways out. Nobody enters it "
        "alone, or before the air is checked and someone outside keeps watch (29 CFR 1926.1203).",
        "metal",
        brief="Enter the space between the roofs with a watch only.",
    ),
    Caution(
        CLIMB,
        "Keep exits, fire lanes and hydrants open, and keep people away from lifts, chutes and "
        "falling material, while the building is in use.",
        brief="Keep exits open and people clear of lifts.",
    ),
    Caution(
        STRUCTURE,
        "Keep every drain and overflow open during and after the work: debris, covers or a "
        "raised edge can hold enough rain to bring a roof down.",
        brief="Keep every drain and overflow open.",
    ),
    Caution(
        STRUCTURE,
        "Roofing stacked on a deck can overload it. A licensed structural engineer says how much "
        "may stand where.",
        brief="Stack roofing only where the engineer allows it.",
    ),
    Caution(
        STRUCTURE,
        "A metal roof over the old one adds dead load, changes snow drift and wind uplift: a "
        "licensed structural engineer must check building, deck and fastening before it is "
        "ordered.",
        "metal",
        brief="Have an engineer check loads before metal is ordered.",
    ),
    Caution(
        STRUCTURE,
        "Wind takes a roof from its edges. Fastening, adhesive and edge metal are designed for "
        "the wind on this building, not copied from the old roof.",
        "membrane",
        brief="Design edges and fastening for this wind.",
    ),
    Caution(
        STRUCTURE,
        "A recover adds the weight of a new covering to the old one: a licensed structural "
        "engineer must check that the roof carries both, with snow and ponded water.",
        "recover",
        brief="Have an engineer check the weight of a recover.",
    ),
    Caution(
        STRUCTURE,
        "Stone ballast weighs 10 lb/ft² (50 kg/m²) or more: a licensed structural engineer must "
        "check the roof for it, and that wind cannot lift the stones.",
        "ballast",
        brief="Have an engineer check the roof for ballast.",
    ),
    Caution(
        STRUCTURE,
        "Stone that is gathered into heaps overloads the deck, and a loose sheet without its stone "
        "flies in wind. Lower stone as it is gathered, and bare no more sheet than is taken off or "
        "held down the same day.",
        "stone_off",
        brief="Heap no stone; bare no sheet that wind can lift.",
    ),
    Caution(
        STRUCTURE,
        "Added weight adds to what an earthquake does to walls, frame and parapets: where the "
        "ground may shake, a licensed structural engineer must check them for it.",
        "heavier",
        brief="Have added weight checked for earthquakes.",
    ),
    Caution(
        STRUCTURE,
        "More insulation keeps the face of the roof colder, so snow stays longer: where it snows, "
        "a licensed structural engineer must check the snow load.",
        "insulation",
        brief="Check the snow load under more insulation.",
    ),
    Caution(
        STRUCTURE,
        "Snow and ice slide off metal. Keep them from falling on entrances and walks; guards that "
        "hold snow back add load for the structural engineer to check.",
        "metal",
        brief="Keep sliding snow off entrances and walks.",
    ),
    Caution(
        STRUCTURE,
        "Insulation that is wet stays wet under a recover, a metal roof or a coating: find the "
        "leaks, test the deck for rust or rot, and remove what is soaked.",
        "shut_in_wet",
        brief="Shut in no water: remove what is soaked.",
    ),
    Caution(
        STRUCTURE,
        "A roof done in two parts: until the rest follows, snow drifts and water gathers at the "
        "step between them. A licensed engineer checks it, and the joint is flashed and drained.",
        "two_parts",
        brief="Have the step between two parts checked and drained.",
    ),
    Caution(
        STRUCTURE,
        "Over rooms kept cold, moisture drives in from outside and freezes in the roof. This tool "
        "does not compute that. The vapour retarder lies outside, every post and screw through it "
        "is sealed, and a designer of cold stores checks it.",
        "cold",
        brief="Have a cold-store designer check the vapour retarder.",
    ),
    Caution(
        FIRE,
        "A fire class (A, B or C) belongs to the whole assembly: deck, insulation, coverings and "
        "slope. Ask for a listed assembly that includes what stays of the old roof.",
        brief="Ask for a listed fire class of the whole assembly.",
    ),
    Caution(
        FIRE,
        "Torches, kettles, hot-air welders, welding, cutting and grinding start roof fires, and "
        "vapour of solvents in adhesives and primers flashes. Ask for a hot-work permit, "
        "extinguishers at hand, and a fire watch after work has stopped. Keep flame away from "
        "gas regulators and solvents, stand LP cylinders upright, tied and clear of heat, and "
        "cover skin: hot asphalt burns deep.",
        brief="Ask for a hot-work permit and a fire watch.",
    ),
    Caution(
        FIRE,
        "Wood, fibre board, foam, attics and wall cavities burn unseen for hours. Lay no sheet "
        "with a flame on or beside them, and let no spark in through gaps at curbs, edges and "
        "walls.",
        "burns",
        brief="Keep flame and sparks off wood, foam and attics.",
    ),
    Caution(
        FIRE,
        "Foam insulation burns. The code asks for a thermal barrier between it and the rooms, or "
        "for a roof tested without one (International Building Code, 2603).",
        "foam",
        brief="Ask for a thermal barrier under foam.",
    ),
    Caution(
        FIRE,
        "Sprinklers, detectors, alarms and smoke vents stay in service. Any shut-off is agreed "
        "with the fire service and the insurer, has a fire watch, and ends the same day.",
        brief="Keep sprinklers and alarms in service.",
    ),
    Caution(
        FIRE,
        "A second roof makes a concealed space, where old bitumen, foam, board or wood can burn "
        "unseen. Ask building and fire officials about draft-stopping, sprinklers, access and "
        "ventilation in it before it is designed.",
        "metal",
        brief="Ask officials about the concealed space.",
    ),
    Caution(
        FIRE,
        "The space under a metal roof is as cold as outdoors. Where it freezes, sprinkler and "
        "water pipes in it burst: a licensed sprinkler designer says where they run, or makes "
        "them dry.",
        "metal",
        brief="Let no sprinkler or water pipe freeze in the space.",
    ),
    Caution(
        FIRE,
        "A skylight closed in under metal takes away daylight and perhaps a smoke vent. Have "
        "the fire official agree what replaces it; the old opening stays covered and marked, "
        "since a worker in the cavity can still fall through.",
        "skylights_under_metal",
        brief="Ask the fire official before a skylight is closed in.",
    ),
    Caution(
        FIRE,
        "Where the old deck is wood, draft-stops divide the concealed space into areas of at most "
        "3,000 ft² (279 m²), unless the whole building, this new space included, has sprinklers "
        "as NFPA 13 asks; those below the old deck do not reach it. A hotel has stops above the "
        "walls of its units too (International Building Code 2012, 718.4).",
        "metal_over_wood",
        brief="Divide the space over a wood deck by draft-stops.",
    ),
    Caution(
        FIRE,
        "Carry every flue, vent, exhaust, air intake, smoke vent, drain and fire wall of the old "
        "roof through the new one. None may end in the cavity, nor a gas pipe. Reroute gas, or "
        "have the gas authority agree to how a pipe is sleeved, vented and reached.",
        "metal",
        brief="Carry flues and fire walls through; hide no gas pipe.",
    ),
    Caution(
        FIRE,
        "Slope below 1/4 in 12, the least that the International Building Code (1507.4.2) asks "
        "of standing seam.",
        "too_flat",
        brief="Lay standing seam at 1/4 in 12 or more.",
    ),
    Caution(
        FIRE,
        "Local code and the authority having jurisdiction decide what may be built. Licensed "
        "engineers, architects and contractors design and do the work: nothing here is a design "
        "or an approval.",
        brief="Ask the authority; licensed people do the work.",
    ),
)
# What a board's paper has room for.
BRIEF = {one.text: one.brief for one in DANGERS}


def dangers(work: RoofWork) -> tuple[Caution, ...]:
    """Return the dangers that some work on a roof brings.

    Examples
    --------
    >>> [one.brief for one in dangers(RoofWork(ballast=True)) if one.when == "ballast"]
    ['Have an engineer check the roof for ballast.']
    """
    return tuple(one for one in DANGERS if not one.when or getattr(work, one.when))
