"""A roof of one's own: the questions of a first meeting, in the order of a conversation."""

from collections.abc import Iterator, Mapping
from copy import deepcopy
from dataclasses import dataclass, replace

from api.problems import Problem
from lcc import tables, units
from lcc.case.roof import Roof
from web.answer_tables import amount
from web.form import form_layout, usual_builds
from web.form.entries import FormEntry
from web.form.form_fields import Document, at, units_of

NOT_SURE = "Not sure"
USUAL_BUILD = "steel-deck-perlite"  # what lies under the coverings where nobody knows
# Default insulation under a metal roof, whose price includes insulation.
USUAL_INSULATION = "glass-fibre-blanket"
RATE, RATE_KIND = "economics.discount_rate", "economics.rate_kind"
BELOW = "roof.covering_below"
UNDER_METAL = "alternatives.0.layers.0.resistance"
THICKNESS = "alternatives.0.layers.0.thickness"
KINDS = {"base_case.kind": "membrane", "alternatives.0.kind": "metal-retrofit"}
# Not asked, but moved by the sliders of the answer: the form holds them out of sight.
_MOVED = ("base_case.service_life", "alternatives.0.solar_reflectance", THICKNESS)
# What is asked, with the entries of the case that the answer goes to and how each is asked for;
# then the line that what matters less is folded behind.
_QUESTIONS: tuple[tuple[str, dict[str, str], str, dict[str, str]], ...] = (
    ("Where is it?", {"site.place": "ZIP code, or town and state"}, "", {}),
    ("What building is it?", {"building.use": "Use"}, "Stories and ceiling", {
        "building.storeys": "Stories", "building.overhead": "What do you see when you look up?"}),
    ("How large is the roof?", {"roof.area": "Roof area"}, "", {}),
    ("What is up there?", {"roof.covering": "Top covering",
                           "roof.coverings": "How many, one over the other",
                           BELOW: "What lies under the top one",
                           "roof.age": "Age of the top roof"}, "Deck and insulation", {}),
    ("How is it doing?", {"roof.ponding": "Does water stand on it 48 hours after rain?"},
     "Leaks, wet insulation, years left", {
         "roof.leaks": "How many leaks a year",
         "roof.wet_fraction": "Wet part of the insulation",
         "roof.remaining_life": "Years it will still last"}),
    ("What stands on it?", {"roof.rooftop_units": "Rooftop units"}, "", {}),
    ("What would the new roofs cost?", {
        "base_case.price": "Price of the membrane",
        "alternatives.0.price": "Price of the metal roof",
        "scope": "What these prices include",
        "base_case.price_includes": "The membrane’s price includes",
        "alternatives.0.price_includes": "The metal roof’s price includes"},
     "Which membrane, insulation under the metal", {
         "base_case.covering": "Which membrane",
         UNDER_METAL: "Insulation under the metal, R-value"}),
    ("How long to look ahead?", {"economics.study_period": "Years to count",
                                 "economics.discount_rate": "Discount rate"},
     "", {}),
    ("What do power and heat cost?", {"prices.electricity": "Electricity", "prices.gas": "Gas"},
     "Not heated by gas?", {"building.equipment.heating": "Heating"}),
    ("Who is the proposal for?", {}, "Which roof, names for the letter", {
        "proposal.recommended": "The letter is for", "name": "Building",
        "proposal.address": "Its address", "proposal.owner": "Owner",
        "proposal.company": "Your company"}),
)  # fmt: skip
# Asked with the discount rate once there is a loan or lease, or income tax.
_PAID = {"economics.financing.how": "Paid by", "economics.financing.rate": "Interest rate",
         "economics.financing.years": "Years of payments",
         "economics.financing.down_payment": "Part paid at once",
         "economics.tax.rate": "Income tax rate"}  # fmt: skip
NAMED = {path: label for _, main, _, more in _QUESTIONS for path, label in (main | more).items()}
NAMED |= _PAID
# What is seen from below, in plain words.
_LOOKING_UP = {
    "open-deck": "The roof deck itself",
    "suspended-ceiling": "A hung ceiling",
    "return-plenum": "A hung ceiling; air goes back above it",
    "ducts-above-ceiling": "A hung ceiling with ducts above it",
    "attic": "The floor of an attic",
}
_CHOICES = {"building.overhead": _LOOKING_UP, "economics.financing.how": {"": "Loan, the usual"}}
# Help under an entry on this page.
_HINTS = {
    "building.use": "Two uses, or only a part that is cooled? Make a case for each part, with its "
    "share of the roof, and add up what they come to. Or choose the larger.",
    "prices.electricity": "Left empty: the U.S. average of 2022.",
    "prices.gas": "Left empty: the U.S. average of 2022.",
    "roof.age": "Past its usual life it counts as due now.",
    "roof.wet_fraction": "Enter 20% or 0.2.",
    "building.overhead": "",  # its choices say it, as its label does here
    "roof.ponding": "",
    "roof.coverings": "",
    "proposal.recommended": "Not sure: the metal roof. Where it is not the cheaper one, the letter "
    "says so.",
    BELOW: "Not sure: like the top one.",
    "economics.discount_rate": "What your money could earn elsewhere in a year, or what the bank "
    "asks: 7 for 7%. A rate you type counts as the bank quotes it: inflation of 2% a year is taken "
    "out. Is it out already? Choose “Above inflation”. Left empty: the usual rate above inflation.",
    "base_case.price_includes": "",  # said with the choice for both
    "alternatives.0.price_includes": "",
    "scope": "The new roof alone: the membrane, or framing, insulation and panels, with edges and "
    "pipes. The whole job: also rooftop units, permit, fees and warranty, and for the membrane "
    "tear-off and the insulation that the code asks for. What a price leaves out is added at usual "
    "prices: often more than the bid itself. Not sure counts as the new roof alone.",
    "alternatives.0.price": "For framing, insulation, panels, edges and pipes.",
}
# What each price may hold, where both do not hold the same.
_EITHER = {
    "": "Not sure (other work is added)",
    "laying": "The new roof alone",
    "everything": "The whole job, ready to use",
}
INCLUDED = {
    "base_case.price_includes": {
        **_EITHER,
        "laying units skylights on-costs warranty": "The whole job, laid over the old roof",
        "laying tear-off": "Tear-off and the new membrane",
    },
    "alternatives.0.price_includes": {
        **_EITHER,
        "laying warranty": "The new roof, with its warranty",
    },
}
APART = "apart"
# What both prices hold, the membrane’s first: asked once, since two bids often hold the same.
SCOPES = {
    "": _EITHER[""],
    "laying|laying": "Each the new roof alone",
    "everything|everything": "Each the whole job, ready to use",
    "laying units skylights on-costs warranty|everything": "Whole jobs, membrane over the old roof",
    "laying tear-off|laying": "Membrane with tear-off; metal roof alone",
    "everything|laying": "Membrane the whole job; metal roof alone",
    APART: "Something else: say for each",
}
NAMES = {"base_case": "New membrane", "alternatives/0": "Metal roof"}
NEEDED = ("site.place", "roof.area")
_WAITED = {"site": "where it is", "site/place": "where it is", "roof": "how large it is",
           "roof/area": "how large it is"}  # fmt: skip


@dataclass(frozen=True)
class Question:
    """One question with its entries, and those that are folded behind a line."""

    title: str
    entries: tuple[FormEntry, ...]
    needed: bool
    build: bool
    fold: str = ""
    further: tuple[FormEntry, ...] = ()

    @property
    def opened(self) -> bool:
        """Whether something behind its line is filled in, or wrong."""
        return any(entry.value or entry.fault for entry in self.further)


def questions(
    document: Document, faults: Mapping[str, str], resolved: Mapping[str, str], scope: str = ""
) -> Iterator[Question]:
    """Yield the questions, each with what has been answered so far."""
    each = [f"{part.replace('/', '.')}.price_includes" for part in NAMES]
    scope = scope or APART * any(at(document, path.split(".")) for path in each)
    both = FormEntry("scope", "", "select", scope, options=tuple(SCOPES.items()))

    def entries(asked: Mapping[str, str]) -> tuple[FormEntry, ...]:
        there = at(document, ("roof", "coverings"))
        one_roof = {BELOW} if not isinstance(there, int) or there < 2 else set[str]()
        unasked = one_roof | set(each if scope != APART else ())
        paths = [path for path in asked if path not in unasked]
        named = (*paths, RATE_KIND)
        found = form_layout.entries_at(document, faults, resolved, named) | {"scope": both}
        kind = {RATE: _kind_of_rate(found[RATE_KIND])}
        return tuple(replace(_asked(found[path], asked[path], document), beside=kind.get(path))
                     for path in paths)  # fmt: skip

    paid = {path: label for path, label in _PAID.items()
            if at(document, path.split(".")[:2]) is not None}  # fmt: skip
    for title, asked, fold, further in _QUESTIONS:
        needed = any(path in NEEDED for path in asked)
        build = "roof.covering" in asked
        also = paid if "economics.discount_rate" in asked else {}
        yield Question(title, entries(asked), needed, build, fold, entries({**further, **also}))


def moved(document: Document, resolved: Mapping[str, str]) -> tuple[FormEntry, ...]:
    """Return the entries that are not asked for, but that a slider moves."""
    return tuple(form_layout.entries_at(document, {}, resolved, _MOVED).values())


def _asked(entry: FormEntry, label: str, document: Document) -> FormEntry:
    """An entry as it is asked for: not sure is always an answer, but for what is needed."""
    if entry.path == UNDER_METAL:
        return _under_metal(entry, label, document)
    told = _HINTS.get(entry.path, entry.help)
    unset = "" if told.startswith("Left empty") else entry.unset  # said once
    entry = replace(entry, help=told, unset=unset)
    choices = _CHOICES.get(entry.path, {})
    listed = tuple(
        (word, choices.get(word, text if word else NOT_SURE))
        for word, text in entry.options
        if word != "not-known"  # not sure is the same
    )
    if entry.path == "scope":
        listed = entry.options
    elif entry.path == "proposal.recommended":
        entry = replace(entry, control="select")
        listed = (("", NOT_SURE), *((name, name) for name in NAMES.values()))
    elif entry.control == "checks":
        held = INCLUDED[entry.path]
        asked = entry.value in held
        entry = replace(entry, control="select" if asked else "checks")
        listed = tuple(held.items()) if asked else entry.options
    elif listed and listed[0][0]:
        listed = (("", choices.get("", NOT_SURE)), *listed)
    return replace(entry, label=label, options=listed, main=True)


def _kind_of_rate(entry: FormEntry) -> FormEntry:
    """Ask which kind of rate is typed: a bank's, as most are, if nothing else is said.

    A slider moves on from the usual rate, and from its kind.
    """
    words = dict(entry.options)
    listed = (("", words["nominal"]), ("real", words["real"]))
    return replace(entry, options=listed, placeholder="real")


def _under_metal(entry: FormEntry, label: str, document: Document) -> FormEntry:
    """Ask for the insulation under the metal roof, and say what is counted without an answer."""
    system = units_of(document)
    row = tables.rows("materials")[USUAL_INSULATION]
    thickness, conductivity = (float(row[name]) for name in ("thickness_m", "conductivity_w_mk"))
    slid = at(document, THICKNESS.split("."))
    if isinstance(slid, float):
        thickness = units.to_core(slid, "thickness", system)
    whose = "as the slider stands" if isinstance(slid, float) else "common practice"
    r_value = units.from_core(thickness / conductivity, "resistance", system)
    thick = amount({"value": units.from_core(thickness, "thickness", system), "kind": "thickness"},
                   system)  # fmt: skip
    told = (
        f"Left empty: {thick} of glass-fiber blanket is counted, about R {r_value:.2g}: {whose}, "
        "not your bid. Enter what the price includes; 0 for none."
    )
    return replace(entry, label=label, help=told, unset="", placeholder=f"{r_value:.2g}", main=True)


def completed(document: Document, build: str, scope: str = "") -> Document:
    """Return the case of the questions answered so far, with a usual build under its coverings.

    Parameters
    ----------
    document : dict
        What was answered.
    build : str
        Key of the build under the coverings, or nothing where nobody knows.
    scope : str
        What both prices hold, one of `SCOPES`.

    Examples
    --------
    >>> roof = completed({"units": "ip", "roof": {"area": 20000.0}}, "")["roof"]
    >>> [layer["material"] for layer in roof["layers"]]
    ['built-up-roofing', 'perlite-board', 'steel-deck']
    >>> completed({"alternatives": [{"kind": "metal-retrofit"}]}, "")["alternatives"][0]["layers"]
    [{'material': 'glass-fibre-blanket'}]
    """
    document = deepcopy(document)
    _name(document)
    _insulate(document)
    _include(document, scope)
    _quote(document)
    given = document.get("roof")
    roof = given if isinstance(given, dict) else {}
    usual = {"covering": Roof.covering, "coverings": Roof.coverings}
    laid = usual_builds.laid_out({**document, "roof": {**usual, **roof}}, build or USUAL_BUILD)
    layers = laid["roof"].get("layers")
    if not layers:
        return document
    origins = {**document.get("origins", {}), "/roof/layers": "common practice"}
    return {**document, "roof": {**roof, "layers": layers}, "origins": origins}


def _name(new: Document) -> None:
    """Give what is compared plain names of ours."""
    for path, name in NAMES.items():
        place = at(new, path.split("/"))
        if isinstance(place, dict) and "name" not in place:
            place["name"] = name
            new["origins"] = {**new.get("origins", {}), f"/{path}/name": "common practice"}


def _include(new: Document, scope: str) -> None:
    """State what each price that is entered holds, where one answer is for both."""
    words = scope.split("|") if scope in SCOPES else []
    for path, held in zip(NAMES, words if len(words) > 1 else (), strict=False):
        place = at(new, path.split("/"))
        if isinstance(place, dict) and place.get("price") is not None:
            place["price_includes"] = held.split()


def _quote(new: Document) -> None:
    """Take a rate that is typed, and nothing said of its kind, as a bank quotes it."""
    typed, kind = (at(new, path.split(".")) for path in (RATE, RATE_KIND))
    if typed is not None and kind is None:
        new["economics"]["rate_kind"] = "nominal"
        new["origins"] = {**new.get("origins", {}), "/economics/rate_kind": "common practice"}


def _insulate(new: Document) -> None:
    """Lay the usual insulation under the metal roof if none is entered."""
    metal = at(new, ("alternatives", "0"))
    if not isinstance(metal, dict):
        return
    entered, thick = (at(metal, ("layers", "0", one)) for one in ("resistance", "thickness"))
    moved_to = {} if thick is None else {"thickness": thick}
    metal["layers"] = [
        {"material": USUAL_INSULATION, **moved_to} if entered is None else {"resistance": entered}
    ]
    origins = new.setdefault("origins", {})
    usual = "/alternatives/0/layers/0/material"
    origins.pop(usual, None)
    if entered is None:
        origins[usual] = "common practice"


def waiting(problem: Problem | None) -> str:
    """Return what an answer still waits for, or nothing where something else is wrong."""
    if problem is None or not problem.errors:
        return ""
    missing = {error["pointer"].strip("#/") for error in problem.errors}
    if not missing <= set(_WAITED) or any(error.get("value") for error in problem.errors):
        return ""
    return " and ".join(dict.fromkeys(word for path, word in _WAITED.items() if path in missing))


def at_entries(problem: Problem) -> Problem:
    """Return a problem with what is missing as a whole named by the entry that is asked for it."""
    entry = {f"#/{path.partition('.')[0]}": f"#/{path.replace('.', '/')}" for path in NEEDED}
    errors = [{**one, "pointer": entry.get(one["pointer"], one["pointer"])}
              for one in problem.errors]  # fmt: skip
    asked = [one for one in errors if one["pointer"] != "#/roof/layers"]  # laid once that is right
    return Problem(problem.name, problem.detail, asked or errors)
