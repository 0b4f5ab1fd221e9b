"""What is wrong with a case, said where it was entered and once in a list."""

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import date
from typing import Any
from urllib.parse import unquote

from api.problems import Problem
from lcc.case.case_document import Member
from lcc.case.document_values import bounds, capital, is_number, spoken
from lcc.case.fields import range_phrase
from lcc.place.zip_and_town import FIVE
from lcc.units import System, Unit
from web import format as fmt
from web.form.entries import FormEntry, Group
from web.form.form_fields import Document, field_at, units_of
from web.form.form_units import options, to_entry, unit_shown

_MEANT = re.compile(r"\$?(\d+\.?\d*) ?(?:([km¢]|cents?)|% ?[a-z]+)", re.ASCII | re.IGNORECASE)
_COMMA = re.compile(r"\$?(\d+),(\d{1,2})", re.ASCII)  # a decimal mark, or a slip
_NUMBERS = re.compile(r"\d+(?:[.,]\d+)*")
OLDEST = 1900  # a number from here on may be the year of a roof, in place of its age
_LONG_NUMBER = re.compile(r"-?\d+\.\d{3,}")


@dataclass(frozen=True)
class FieldFault:
    """One fault in the list: the entry it belongs to, if there is one, and the sentence."""

    text: str
    label: str = ""
    target: str = ""


@dataclass(frozen=True)
class Summary:
    """The list of faults at the head of the form."""

    title: str
    faults: tuple[FieldFault, ...]


def by_path(
    problem: Problem, document: Document, names: Mapping[str, str] | None = None
) -> dict[str, str]:
    """Return the sentences of a problem by dotted path, with names that a page has for its entries.

    Examples
    --------
    >>> error = {"pointer": "#/roof/area", "detail": "Roof area is missing.", "rule": "required"}
    >>> by_path(Problem("invalid-input", "One fault.", [error]), {"units": "ip"})
    {'roof.area': 'Please enter the roof area.'}
    """
    found: dict[str, str] = {}
    for error in problem.errors:
        steps = unquote(error.get("pointer", "").removeprefix("#")).split("/")[1:]
        path = [step.replace("~1", "/").replace("~0", "~") for step in steps]
        unknown = path[-1:] == ["place"] and error.get("value")
        told = _no_place(error) if unknown else _sentence(error, path, document, names or {})
        found.setdefault(".".join(path), told)
    return found


def _sentence(
    error: Mapping[str, Any], path: list[str], document: Document, names: Mapping[str, str]
) -> str:
    """The fault in the units of the form; the problem's own words where it is not of a range."""
    field = field_at(path, document) if path else None
    if field:
        label = names.get(".".join(path), field.facts.label)
        field = replace(field, facts=replace(field.facts, label=label))
    unmet = error.get("rule") in ("required", "type") or path[-1:] == ["price"]
    if field and unmet and error.get("value") is None:
        return _missing(field, asked=bool(names))
    value, rule = error.get("value"), error.get("rule")
    whole = isinstance(value, str) and field is not None and field.facts.type == "whole"
    if field and (whole or rule == "unit"):
        kind = " Choose its kind beside it." * (field.name == "discount_rate")
        number = f"{'whole ' * whole}number, such as {_example(value, whole=whole)}"
        return f"{field.facts.label}: please type a {number}.{kind}"
    # A rule that joins several values has its own words.
    beyond = rule == "range" or (rule != "consistency" and is_number(value))
    if field and beyond and field.facts.type in ("quantity", "whole"):
        return _out_of_range(error, field, units_of(document))
    told = _LONG_NUMBER.sub(
        lambda found: fmt.entry(float(f"{float(found[0]):.4g}")), error["detail"]
    )
    return Unit(told).display


def _missing(field: Member, *, asked: bool) -> str:
    if field.name == "price":
        unsure = "choose “Not sure” below it" if asked else "tick nothing that it includes"
        return f"Type the price, or {unsure}."
    if field.facts.kind == "file":
        return "Choose a weather file."
    return (
        f"Please {'choose' if options(field.facts) else 'enter'} the {spoken(field.facts.label)}."
    )


def _no_place(error: Mapping[str, Any]) -> str:
    """Say that a place is not found, and what to type."""
    given, (how, _, near) = str(error["value"]), error["allowed"].partition("; nearest matches: ")
    if FIVE in error["detail"]:
        meant = error["allowed"].partition("; ")[2] or "type them all, or the town and its state"
        return f"{given}: a ZIP code has five digits; {meant}."
    if given.isdigit():
        return f"There is no ZIP code {given}. Type another, or the town and its state."
    return f"Place “{given}” was not found. Type {how}.{near and f' Did you mean {near}?'}"


def _example(given: Any, *, whole: bool = False) -> str:
    """A number as it is typed: the one that was meant, where that is clear.

    Examples
    --------
    >>> _example("62k"), _example("2.5M"), _example("7% nominal"), _example("62.000,5")
    ('62000', '2500000', '7', '12')
    >>> _example("9,80"), _example("about 20"), _example("9.80 a foot"), _example("many")
    ('9.80 or 980', '20', '9.80', '12')
    >>> _example("13.1 cents"), _example("92¢")
    ('0.131', '0.92')
    >>> _example("1,5", whole=True), _example("2.5 each", whole=True)
    ('15', '2')
    """
    text = str(given).strip()
    typed = _NUMBERS.findall(text)
    likely = typed[0] if len(typed) == 1 else ""
    if comma := _COMMA.fullmatch(text):
        likely = f"{comma[1]}{comma[2]}" if whole else "{0}.{1} or {0}{1}".format(*comma.groups())
    elif found := _MEANT.fullmatch(text):
        times = {"": 1.0, "k": 1e3, "m": 1e6}.get((found[2] or "").lower(), 0.01)
        likely = fmt.entry(float(found[1]) * times)
    clear = likely.isdigit() if whole else "," not in likely and likely.count(".") < 2
    return (clear and likely) or ("2" if whole else "12")


def _out_of_range(error: Mapping[str, Any], field: Member, system: System) -> str:
    facts = field.facts
    unit = unit_shown(facts.kind, system)
    given = to_entry(error.get("value"), facts.kind, system)
    low, high = (
        None if end is None else float(to_entry(end, facts.kind, system))
        for end in bounds(facts, system)
    )
    allowed = range_phrase(low, high, facts.low_open, facts.high_open)
    whole = "a whole number, " * (facts.type == "whole")
    said = f"{facts.label}: {given} cannot be used; type {whole}{allowed} {unit}".rstrip() + "."
    value, year = error["value"] if is_number(error["value"]) else 0.0, date.today().year
    if field.name in ("electricity", "gas") and given.replace(".", "", 1).isdigit():
        said += f" For {given} cents type {float(given) / 100:g}."
    meant = abs(float(given)) if value < 0 else 0.0
    if meant and low is not None and 0 <= low <= meant <= (high or meant):
        said = f"{facts.label}: {given} cannot be used; type {meant:,.10g} without the minus."
    if field.name == "age" and OLDEST <= value <= year:
        said += f" For a roof of {value:g} type {year - value:g}."
    return said


def _titled(group: Group) -> Iterator[tuple[str, FormEntry]]:
    yield from (("", entry) for entry in group.lead)
    for section in group.rest:
        yield from section.all_titled()


def summary(
    problem: Problem,
    told: Mapping[str, str],
    groups: Iterable[Group],
    asked: Iterable[FormEntry] = (),
) -> Summary:
    """Return the list of a problem's faults, each named once, as its box is, with a link to it."""
    entries = {
        entry.path: (f"{group.title}, {titles}{entry.label}", entry.id)
        for group in groups
        for titles, entry in _titled(group)
    }
    names = {entry.path: entry.label for group in groups for _, entry in _titled(group)}
    entries |= {entry.path: (entry.label, entry.id) for entry in asked}
    names |= {entry.path: entry.label for entry in asked}
    faults = tuple(
        FieldFault(capital(text.removeprefix(f"{names.get(path)}: ")), *entries.get(path, ("", "")))
        for path, text in told.items()
    )
    if not faults:
        return Summary(problem.title, (FieldFault(problem.detail),))
    count = len(faults)
    title = "One entry needs another look" if count == 1 else f"{count} entries need another look"
    return Summary(title, faults)
