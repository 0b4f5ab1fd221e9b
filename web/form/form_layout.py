"""How the form is laid out: the few entries that a first meeting needs, the rest behind them."""

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from api.json_schema import default
from lcc.case import Case
from lcc.case.case_document import Member, members
from lcc.case.document_values import capital
from lcc.case.resolution import basis_at
from lcc.cost.programme import ROOF_COUNTS
from lcc.units import System
from web import format as fmt
from web.form.entries import LONG, FormEntry, FormSection, Group
from web.form.form_fields import (
    Document,
    Path,
    as_shown,
    as_word,
    at,
    field_at,
    inner_fields,
    units_of,
)
from web.form.form_units import options, to_entry, unit_shown
from web.glossary import TERM_OF

ABOUT = {"quotation_taken": "quotations"}
MAIN_TOO = ("remaining_life",)  # a short entry on which much of the answer depends
USUAL = "usual figure"  # stands where the hint says which
ORIGINS = {"entered": "yours", "demo": "demo", "common practice": "usual"}
KIND_NAMES = {"metal-retrofit": "metal retrofit", "membrane": "membrane", "coating": "coating"}


@dataclass(frozen=True)
class _View:
    """What entries are made from: the document, its units, faults and resolved defaults."""

    document: Document
    system: System
    faults: Mapping[str, str]
    resolved: Mapping[str, str]
    opened: Collection[str]


def groups(
    document: Document,
    faults: Mapping[str, str],
    resolved: Mapping[str, str],
    opened: Collection[str] = (),
) -> tuple[Group, ...]:
    """Return the form of a case document.

    Parameters
    ----------
    document : dict
        The case as entered; it need not be complete or valid.
    faults : mapping
        Sentences by dotted path.
    resolved : mapping
        What an entry left empty comes to, by dotted path.
    opened : collection of str
        Dotted paths of long parts that are shown though nothing in them is entered.
    """
    view = _View(document, units_of(document), faults, resolved, opened)
    top = {field.name: field for field in members(Case)}

    def group(group_id: str, title: str, *names: str, lead: tuple[FormEntry, ...] = ()) -> Group:
        return _group(group_id, title, [_section(view, (one,), top[one]) for one in names], lead)

    placed = {"name", "site", "building", "roof", "base_case", "alternatives", "proposal"}
    money = [name for name in top if name not in placed]
    name = (_entry(view, ("name",), top["name"]),)
    return (
        group("building", "The building", "site", "building", lead=name),
        group("roof", "The roof today", "roof"),
        group("base", "Membranes (the base case)", "base_case"),
        *_alternatives(view, top["alternatives"]),
        group("money", "Money", *money),
        group("proposal", "The proposal", "proposal"),
    )


def entries_at(
    document: Document, faults: Mapping[str, str], resolved: Mapping[str, str], paths: Iterable[str]
) -> dict[str, FormEntry]:
    """Return single entries of the form by their dotted paths."""
    view = _View(document, units_of(document), faults, resolved, ())
    base = {"kind": "membrane", **(document.get("base_case") or {})}
    given = document.get("alternatives") or [{}]
    first = {"kind": "metal-retrofit", **given[0]}
    shown = {**document, "base_case": base, "alternatives": [first, *given[1:]]}
    fields = {path: field_at(path.split("."), shown) for path in paths}
    return {path: _entry(view, tuple(path.split(".")), one) for path, one in fields.items() if one}


def _alternatives(view: _View, field: Member) -> Iterator[Group]:
    given = view.document.get("alternatives")
    items = given if isinstance(given, list) else []
    for index in range(len(items)):
        section = _section(view, ("alternatives", str(index)), field, item=True)
        section = replace(section, item=False)  # a group of its own, not a line in a list
        title = f"Alternative {index + 1}: {KIND_NAMES.get(section.kind, 'unknown')}"
        group = _group(f"alternative-{index}", title, [section])
        yield replace(group, remove=section.path if len(items) > 1 else "")


def _group(
    group_id: str, title: str, sections: Sequence[FormSection], lead: tuple[FormEntry, ...] = ()
) -> Group:
    main = (*lead, *(entry for section in sections for entry in _main(section)))
    return Group(
        group_id,
        title,
        main,
        tuple(rest for section in sections if (rest := _without_main(section))),
        kind=sections[0].kind,
        path=sections[0].path,
    )


def _main(section: FormSection) -> Iterator[FormEntry]:
    yield from (entry for entry in section.entries if entry.main)
    for inner in section.sections:
        if not inner.optional and not inner.adds and not inner.item:
            yield from _main(inner)


def _without_main(section: FormSection, inside: bool = False) -> FormSection | None:
    if inside and (section.optional or section.adds or section.item):
        return section
    inner = tuple(
        rest for one in section.sections if (rest := _without_main(one, inside=True)) is not None
    )
    entries = tuple(entry for entry in section.entries if not entry.main)
    return replace(section, entries=entries, sections=inner) if entries or inner else None


def _section(
    view: _View, path: tuple[str, ...], field: Member, *, item: bool = False
) -> FormSection:
    value = at(view.document, path)
    if field.facts.type == "parts" and not item:
        return _list_section(view, path, field, value)
    if field.optional and value is None:
        return FormSection(".".join(path), field.facts.label, optional=True, absent=True)
    fields = inner_fields(field, value)
    leaves = [
        one
        for one in fields
        if one.facts.type not in ("part", "parts")
        and _has_its_part(one, value)
        and not _counted_by_survey(view, path, one, value)
    ]
    if _left_aside(view, path, leaves, value):
        return FormSection(".".join(path), field.facts.label, absent=True)
    nested = [one for one in fields if one.facts.type in ("part", "parts")]
    kind = value.get("kind", "") if isinstance(value, Mapping) and "" not in field.kinds else ""
    entries = tuple(_entry(view, (*path, one.name), one) for one in leaves)
    hints = {entry.hint for entry in entries}
    note = hints.pop() if len(entries) > 2 and len(hints) == 1 else ""
    return FormSection(
        ".".join(path),
        f"{field.facts.label} {int(path[-1]) + 1}" if item else field.facts.label,
        tuple(replace(one, hint="") for one in entries) if note else entries,
        tuple(_section(view, (*path, one.name), one) for one in nested),
        kind=str(kind),
        optional=field.optional,
        note=note,
        item=item,
    )


def _has_its_part(field: Member, value: Any) -> bool:
    """Whether an entry about parts is shown: where there are parts, or where it is filled in."""
    needed = ABOUT.get(field.name)
    return not needed or (isinstance(value, Mapping) and any(map(value.get, (needed, field.name))))


def _counted_by_survey(view: _View, path: Path, field: Member, value: Any) -> bool:
    """Whether a framing survey asks for the roof's count, so that it is not asked for twice."""
    if path != ("roof",) or field.name not in ROOF_COUNTS or at(value, (field.name,)) is not None:
        return False
    others = view.document.get("alternatives")
    listed = others if isinstance(others, list) else []
    return any(at(one, ("framing",)) is not None for one in listed)


def _left_aside(view: _View, path: Path, leaves: Sequence[Member], value: Any) -> bool:
    """Whether a long part is only offered: everything in it has a default, nothing is entered."""
    optional = len(leaves) >= LONG and all(one.optional for one in leaves)
    entered = isinstance(value, Mapping) and any(one is not None for one in value.values())
    return optional and not entered and ".".join(path) not in view.opened


def _list_section(view: _View, path: tuple[str, ...], field: Member, value: Any) -> FormSection:
    count = len(value) if isinstance(value, list) else 0
    words = ("Layer", "Quotation", "Drain")
    item = next((word for word in words if word in field.facts.label.title()), "Part")
    one = replace(field, optional=False, facts=replace(field.facts, label=item))
    return FormSection(
        ".".join(path),
        field.facts.label,
        sections=tuple(
            _section(view, (*path, str(index)), one, item=True) for index in range(count)
        ),
        adds=((f"add:{'.'.join(path)}", f"Add a {item.lower()}"),),
    )


def _entry(view: _View, path: tuple[str, ...], field: Member) -> FormEntry:
    dotted = ".".join(path)
    facts, given = field.facts, at(view.document, path)
    quantity = facts.type in ("quantity", "whole")
    known = default(field, view.system)
    usual = known if quantity else None
    unit = unit_shown(facts.kind, view.system) if quantity else ""
    unset = f"Left empty: {facts.when_unset}." if facts.when_unset and known is None else ""
    usual_from = f"Default: {facts.basis}, {facts.source}."
    where = usual_from if facts.source and known is not None else unset
    return FormEntry(
        path=dotted,
        label=facts.label,
        control=facts.kind if facts.kind in ("file", "lines") else _CONTROLS[facts.type],
        value=as_shown(given, field, view.system),
        unit=unit,
        help=facts.help,
        hint=" ".join(part for part in (facts.help, where) if part),
        unset=unset if quantity else "",
        term="therm" if "therm" in unit else TERM_OF.get(field.name, ""),
        placeholder=_usual(view.resolved.get(dotted) or to_entry(usual, facts.kind, view.system))
        or (_counted(facts.when_unset) if quantity else ""),
        options=_options(field, given, known),
        fault=view.faults.get(dotted, ""),
        main=not facts.advanced or field.name in MAIN_TOO,
        origin=_origin(view, path) if _is_marked(field, given) else "",
    )


def _is_marked(field: Member, given: Any) -> bool:
    """Whether an entry says whose it is: where it is filled in, and a text only if it counts."""
    return given not in (None, "", []) and (field.facts.type != "text" or field.name == "place")


def _counted(when_unset: str) -> str:
    """Return what stands in an entry left empty that has no one usual figure.

    Examples
    --------
    >>> _counted("not known; taken as 12 in, and to be measured before bids"), _counted("")
    ('taken as 12 in', '')
    >>> _counted("none, only the usual repairs"), _counted("one for each rooftop unit")
    ('none counted', 'usual figure')
    """
    if when_unset.startswith("not known; "):
        counted = when_unset.partition("; ")[2].partition(",")[0]
        return counted if counted.startswith(("counted", "taken")) else "not known"
    known = "none counted" if when_unset.startswith("none") else USUAL
    return known if when_unset else ""


def _usual(text: str) -> str:
    """Return a default as people write it, to four digits.

    Examples
    --------
    >>> _usual("0.1232771"), _usual("20"), _usual("7 in"), _usual("")
    ('0.1233', '20', '7 in', '')
    """
    try:
        return fmt.entry(float(f"{float(text):.4g}"))
    except ValueError:
        return text


def _origin(view: _View, path: Path) -> str:
    """Whose a stated figure is, as it is marked beside its entry."""
    bases = view.document.get("origins")
    basis = basis_at("/" + "/".join(path), bases if isinstance(bases, dict) else {})
    return ORIGINS.get(basis, "table")


_CONTROLS = {"quantity": "number", "whole": "number", "choice": "select", "key": "select",
             "choices": "checks", "flag": "select", "text": "text"}  # fmt: skip


def _options(field: Member, given: Any, known: Any) -> tuple[tuple[str, str], ...]:
    """The words of a choice; one that is not among them stays, so that it can be mended."""
    words = [(word, capital(label)) for word, label in options(field.facts)]
    if field.facts.type == "flag":
        words = [("true", "Yes"), ("false", "No")]
    if not words or field.facts.type == "choices":
        return tuple(words)
    if field.name == "climate" and given:
        words = _in_its_state(words, given)
    usual = dict(words).get(as_word(known))
    unset = f"usual: {usual}" if usual else field.facts.when_unset or "none"
    listed = (("", unset), *words) if usual or field.optional else tuple(words)
    among = {word for word, _ in listed}
    return listed if as_word(given) in among else (*listed, (as_word(given), f"{given} (unknown)"))


def _in_its_state(words: list[tuple[str, str]], given: str) -> list[tuple[str, str]]:
    """The stations of one state: any other is found by its place, and the page stays light."""
    state = given.rpartition("-")[2]
    return [(word, label) for word, label in words if word.endswith(f"-{state}")]
