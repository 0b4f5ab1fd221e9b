"""The assumptions of an answer as text, each with its owner, those of one source together."""

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from functools import cache
from itertools import groupby
from typing import Any

from lcc import units
from lcc.case import Case
from lcc.case.case_document import members
from lcc.case.document_values import capital
from lcc.case.fields import BASES
from web import format as fmt
from web.charts import Reply
from web.form.form_units import options

_IN_TABLE = re.compile(r" ?\(table [^()]*\)$")
ENTERED = ("the case", "the weather file given")
# Parts of a case with figures of one meaning each: an assumption needs no owner there.
_ALONE = ("site", "building", "prices", "economics", "uncertainty")
_SEVERAL = ("roof", "base_case", "alternatives")


@dataclass(frozen=True)
class Assumed:
    """One assumption as text, and which part of the case it belongs to."""

    label: str
    value: str
    basis: str
    source: str
    owner: str = ""


@dataclass(frozen=True)
class Rests:
    """Assumptions of one basis and source."""

    basis: str
    source: str
    items: tuple[Assumed, ...]

    @property
    def heading(self) -> str:
        """What stands before the items: a default without a source is no entry."""
        if self.basis == "entered":
            return "Entered" if self.source in ENTERED else "By default"
        named = {"second-hand": "Published, as others give it", "demo": "Invented"}
        return named.get(self.basis, self.basis.capitalize())


def rests(reply: Reply) -> tuple[Rests, ...]:
    """Return what a reply rests on, the entered figures first."""
    stated = reply["assumptions"]
    materials = {one["field"]: str(one["value"]) for one in stated}
    return tuple(grouped(_assumed(one, reply["units"], materials) for one in stated))


def _assumed(one: Mapping[str, Any], system: units.System, materials: Mapping[str, str]) -> Assumed:
    value, kind = one["value"], one["kind"]
    if isinstance(value, bool):
        text = "yes" if value else "no"
    elif isinstance(value, int | float):
        figure, unit = fmt.read(value, kind, system)
        unit = "" if kind == "money" else unit.removeprefix("$")
        if kind == "money" and ".unit_prices." in one["field"]:
            figure = fmt.shown(value, "price_each")
        text = f"{figure}{'' if unit[:1] == '/' or unit == '°' else ' '}{unit}".strip()
    else:
        text = fmt.NOTHING if value is None else _as_chosen(one["label"], str(value))
    named = one["basis"] == "entered" or not one["field"].startswith(_ALONE)
    whose = owner(one["field"], materials) if named else ""
    source = one["source"].replace(", read in a copy: ", ", as given by ")
    source = source.removesuffix(", read in a copy")
    return Assumed(one["label"], text, one["basis"], source, whose)


def _as_chosen(label: str, value: str) -> str:
    """Return the keys of a choice in the words that the form has for them; other text as it is."""
    told = [_options().get(label, {}).get(one, one) for one in value.split(", ")]
    return ", ".join(told)


@cache
def _options() -> Mapping[str, Mapping[str, str]]:
    """The words of every choice of a case, by its label."""
    found: dict[str, dict[str, str]] = {}
    waiting = [Case]
    while waiting:
        for member in members(waiting.pop()):
            words = ((key, capital(word)) for key, word in options(member.facts))
            found.setdefault(member.facts.label, {"yes": "Yes", "no": "No"}).update(words)
            waiting += member.kinds.values()
    return found


def owner(field: str, materials: Mapping[str, str]) -> str:
    """Return which part of a case a dotted path belongs to, in words.

    Parameters
    ----------
    field : str
        Dotted path of an assumption.
    materials : mapping
        Values by dotted path, of which the materials of layers are used.

    Examples
    --------
    >>> owner("alternatives.1.replacement.service_life", {})
    'Alternative 2, replacement'
    >>> owner("roof.layers.0.thickness", {"roof.layers.0.material": "steel-deck"})
    'Roof today, layer 1 (steel deck)'
    >>> owner("coverings.epdm-black.mass", {})
    ''
    """
    top, *steps = field.split(".")[:-1] or [""]
    if top not in (*_ALONE, *_SEVERAL):
        return ""
    words = [] if top == "alternatives" else [{"roof": "Roof today"}.get(top, _plain(top))]
    path = top
    for step in steps:
        path = f"{path}.{step}"
        if not step.isdigit():
            words.append(_plain(step).lower())
            continue
        words += [] if words else ["Alternatives"]
        material = materials.get(f"{path}.material", "").replace("-", " ")
        words[-1] = f"{words[-1].removesuffix('s')} {int(step) + 1}"
        words[-1] += f" ({material})" if material else ""
    return ", ".join(words)


def _plain(step: str) -> str:
    return step.replace("_", " ").capitalize()


def grouped(assumptions: Iterable[Assumed]) -> Iterable[Rests]:
    """Return assumptions that share basis and source together, as printed.

    Examples
    --------
    >>> two = [Assumed("Age", "13 y", "entered", "the case"),
    ...        Assumed("Area", "2 m²", "entered", "the case")]
    >>> [(one.basis, len(one.items)) for one in grouped(two)]
    [('entered', 2)]
    """

    def place(one: Assumed) -> tuple[int, bool, str]:
        entered = one.source in ENTERED
        return BASES.index(one.basis), not entered, without_table(one.source)

    for (_, _, source), group in groupby(sorted(assumptions, key=place), key=place):
        items = list(group)
        entered = source in ENTERED
        yield Rests(items[0].basis, source, tuple(items if entered else _once(items)))


def _once(items: Iterable[Assumed]) -> Iterator[Assumed]:
    """Tell a default that several parts share once: of two by their names, of more without."""
    alike: dict[tuple[str, str], list[Assumed]] = {}
    for one in items:
        alike.setdefault((one.label, one.value), []).append(one)
    for same in alike.values():
        owners = list(dict.fromkeys(one.owner for one in same))
        yield replace(same[0], owner=" and ".join(owners) if len(owners) < 3 else "")


def without_table(source: str) -> str:
    """Return a source without the place in our own tables where the figure stands."""
    return _IN_TABLE.sub("", source)
