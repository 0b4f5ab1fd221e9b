"""Figures that belonged to a kind, cleared when another kind is chosen in its place."""

import json
from collections.abc import Iterable, Iterator, Mapping
from copy import deepcopy

from lcc.case.document_values import spoken
from web.form.entries import FormEntry
from web.form.form_fields import Document, at, field_at

_SURFACE = ("solar_reflectance", "thermal_emittance")
# Name of a choice: the entries beside it whose figures are those of what was chosen.
BELONGS = {
    "heating": ("heating_efficiency",),
    "covering": ("price", "service_life", "remaining_life", "renewal", *_SURFACE),
    "panel": _SURFACE,
    "material": ("thickness", "conductivity", "density", "specific_heat", "resistance"),
    "use": (
        "infiltration", "ventilation", "gains", "heating_setpoint", "cooling_setpoint", "setback",
        "window_fraction", "conditioning",
    ),
}  # fmt: skip


def chosen(entries: Iterable[FormEntry]) -> str:
    """Return the choices that figures belong to and those figures, to be sent with the form."""
    figures = {one for names in BELONGS.values() for one in names}
    found = {
        one.path: one.value
        for one in entries
        if (name := one.path.rpartition(".")[2]) in BELONGS or (name in figures and one.value)
    }
    return json.dumps(found, separators=(",", ":"))


def cleared(
    document: Document, before: Mapping[str, str], sent: Mapping[str, str]
) -> tuple[Document, list[str]]:
    """Return the document without figures of kinds that were changed, and a sentence for each.

    Parameters
    ----------
    document : dict
        As entered.
    before : mapping
        What each choice and each figure was when the form was shown, by dotted path.
    sent : mapping
        What they are now; a figure entered together with its new kind stays.

    Examples
    --------
    >>> case = {"units": "ip", "building": {"equipment": {"heating": "heat-pump",
    ...                                                   "heating_efficiency": 0.8}}}
    >>> path = "building.equipment.heating"
    >>> cleared(case, {path: "gas", f"{path}_efficiency": "0.8"},
    ...         {path: "heat-pump", f"{path}_efficiency": "0.8"})[1]
    ['Heating changed: its heating efficiency of 0.8 was cleared.']
    """
    new = deepcopy(document)
    kinds = (path for path in before if path.rpartition(".")[2] in BELONGS)
    changed = [path for path in kinds if sent.get(path, before[path]) != before[path]]
    return new, [told for path in changed for told in _clear(new, path, before, sent)]


def _clear(
    document: Document, path: str, before: Mapping[str, str], sent: Mapping[str, str]
) -> Iterator[str]:
    *parents, name = path.split(".")
    owner = at(document, parents)
    for one in BELONGS[name]:
        figure = ".".join((*parents, one))
        same = figure in before and sent.get(figure, before[figure]) == before[figure]
        if same and isinstance(owner, dict) and owner.pop(one, None) is not None:
            kind, told = (_label((*parents, word), document) for word in (name, one))
            figure_told = f"{spoken(told)} of {before[figure]}"
            yield f"{kind} changed: its {figure_told} was cleared."


def _label(path: tuple[str, ...], document: Document) -> str:
    field = field_at(path, document)
    return field.facts.label if field else path[-1].replace("_", " ")
