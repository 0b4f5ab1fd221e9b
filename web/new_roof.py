"""A roof of one's own: the questions of a first meeting, in the order of a conversation."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

from api.problems import Problem
from web.drawings import roof_builds
from web.form import form_layout
from web.form.entries import FormEntry
from web.form.form_fields import Document, field_at

NOT_SURE = "Not sure"
USUAL_BUILD = "steel-deck-perlite"  # what lies under the coverings where nobody knows
KINDS = {"base_case.kind": "membrane", "alternatives.0.kind": "metal-retrofit"}
# What is asked, with the entries of the case that the answer goes to and how each is asked for.
_QUESTIONS: tuple[tuple[str, dict[str, str]], ...] = (
    ("Where is it?", {"site.place": "ZIP code, or town and state"}),
    ("How large is the roof?", {"roof.area": "Roof area"}),
    ("What building is it?", {"building.use": "Use", "building.storeys": "Storeys",
                              "building.overhead": "What do you see when you look up?"}),
    ("What is up there?", {"roof.covering": "Top covering",
                           "roof.coverings": "How many, one over the other"}),
    ("How is it doing?", {"roof.age": "Age", "roof.remaining_life": "Years it will still last",
                          "roof.wet_fraction": "Wet part of the insulation (0.1 is a tenth)"}),
    ("What stands on it?", {"roof.rooftop_units": "Rooftop units"}),
    ("What would a new membrane cost?", {
        "base_case.covering": "Which membrane", "base_case.price": "Price",
        "base_case.price_includes": "This price includes"}),
    ("What would the metal roof cost?", {
        "alternatives.0.price": "Price", "alternatives.0.price_includes": "This price includes"}),
    ("How long to look ahead?", {"economics.study_period": "Years to count",
                                 "economics.discount_rate": "Discount rate"}),
    ("What do power and heat cost?", {"prices.electricity": "Electricity", "prices.gas": "Gas",
                                      "building.equipment.heating": "Heating"}),
    ("Who is the proposal for?", {"name": "Building", "proposal.address": "Its address",
                                  "proposal.owner": "Owner", "proposal.company": "Your company"}),
)  # fmt: skip
INCLUDED = {"": NOT_SURE, "laying": "Laying only", "everything": "Everything, tear-off too"}
NEEDED = ("site.place", "roof.area")
_WAITED = {"site": "where it is", "site/place": "where it is", "roof": "how large it is",
           "roof/area": "how large it is"}  # fmt: skip


@dataclass(frozen=True)
class Question:
    """One question with its entries."""

    title: str
    entries: tuple[FormEntry, ...]
    needed: bool
    build: bool


def questions(
    document: Document, faults: Mapping[str, str], resolved: Mapping[str, str]
) -> Iterator[Question]:
    """Yield the questions, each with what has been answered so far."""
    for title, asked in _QUESTIONS:
        found = form_layout.entries_at(document, faults, resolved, asked)
        yield Question(
            title,
            tuple(_asked(found[path], label) for path, label in asked.items()),
            needed=any(path in NEEDED for path in asked),
            build="roof.covering" in asked,
        )


def _asked(entry: FormEntry, label: str) -> FormEntry:
    """An entry as it is asked for: not sure is always an answer, but for what is needed."""
    listed = tuple((word, text if word else NOT_SURE) for word, text in entry.options)
    if entry.control == "checks" and entry.value in INCLUDED:
        told = "What it leaves out is added at usual prices."
        options = tuple(INCLUDED.items())
        return replace(entry, label=label, control="select", options=options, help=told, main=True)
    if entry.control == "checks":
        return replace(entry, label=label, main=True)
    if listed and listed[0][0]:
        listed = (("", NOT_SURE), *listed)
    return replace(entry, label=label, options=listed, main=True)


def completed(document: Document, build: str) -> Document:
    """Return the case of the questions answered so far, with a usual build under its coverings.

    Parameters
    ----------
    document : dict
        What was answered.
    build : str
        Key of the build under the coverings, or nothing where nobody knows.

    Examples
    --------
    >>> roof = completed({"units": "ip", "roof": {"area": 20000.0}}, "")["roof"]
    >>> [layer["material"] for layer in roof["layers"]]
    ['built-up-roofing', 'perlite-board', 'steel-deck']
    """
    given = document.get("roof")
    roof = given if isinstance(given, dict) else {}
    usual = {name: _default(name, document) for name in ("covering", "coverings")}
    laid = roof_builds.laid_out({**document, "roof": {**usual, **roof}}, build or USUAL_BUILD)
    layers = laid["roof"].get("layers")
    if not layers:
        return document
    origins = {**document.get("origins", {}), "/roof/layers": "common practice"}
    return {**document, "roof": {**roof, "layers": layers}, "origins": origins}


def _default(name: str, document: Document) -> object:
    field = field_at(("roof", name), document)
    return field["default"] if field else None


def waiting(problem: Problem | None) -> str:
    """Return what an answer still waits for, or nothing where something else is wrong."""
    if problem is None or not problem.errors:
        return ""
    missing = {error["pointer"].strip("#/") for error in problem.errors}
    if not missing <= set(_WAITED) or any(error.get("value") for error in problem.errors):
        return ""
    return " and ".join(dict.fromkeys(word for path, word in _WAITED.items() if path in missing))
