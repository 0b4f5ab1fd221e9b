"""What a form is made of: entry fields, sections of them, and the groups that a page shows."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from dataclasses import dataclass

LONG = 13  # entries


@dataclass(frozen=True)
class FormEntry:
    """One entry field: where its value goes, what stands beside it, and what is wrong with it."""

    path: str
    label: str
    control: str
    value: str
    unit: str = ""
    help: str = ""
    hint: str = ""
    term: str = ""
    placeholder: str = ""
    unset: str = ""  # what it means to leave it empty
    options: tuple[tuple[str, str], ...] = ()
    fault: str = ""
    main: bool = False
    origin: str = ""  # of the value: the user's own, a demo's, a table's
    beside: FormEntry | None = None  # a choice that tells of what kind the value is

    @property
    def id(self) -> str:
        """Identity of the control in the page."""
        return "f-" + self.path.replace(".", "-")

    @property
    def short(self) -> bool:
        """Whether half a line is enough for the control."""
        return bool(self.options) and max(len(label) for _, label in self.options) < 15


@dataclass(frozen=True)
class FormSection:
    """Entries under one title, with sections inside; a list's item or an optional part."""

    path: str
    title: str
    entries: tuple[FormEntry, ...] = ()
    sections: tuple[FormSection, ...] = ()
    kind: str = ""
    optional: bool = False
    absent: bool = False
    note: str = ""
    item: bool = False
    adds: tuple[tuple[str, str], ...] = ()

    def all_entries(self) -> Iterator[FormEntry]:
        """Every entry of the section and of those inside it."""
        yield from self.entries
        for section in self.sections:
            yield from section.all_entries()

    def all_titled(self, above: str = "") -> Iterator[tuple[str, FormEntry]]:
        """Every entry, and before it the titles of the items of lists that it belongs to."""
        titles = f"{above}{self.title}, " if self.item else above
        yield from ((titles, entry) for entry in self.entries)
        for section in self.sections:
            yield from section.all_titled(titles)

    def holds(self, paths: Collection[str]) -> bool:
        """Whether one of the paths is that of this section or of one inside it."""
        return self.path in paths or any(section.holds(paths) for section in self.sections)

    @property
    def faulty(self) -> bool:
        """Whether any entry inside has a fault."""
        return any(entry.fault for entry in self.all_entries())

    @property
    def folds(self) -> bool:
        """Whether its lists follow its main entries at once, as the parts of a survey's plan do."""
        usual = sum(not entry.main for entry in self.entries)
        return self.optional and usual > LONG and any(one.adds for one in self.sections)

    def unfolded(self, paths: Collection[str]) -> bool:
        """Whether what stands behind the main entries is shown."""
        if not self.folds:
            return self.faulty or self.holds(paths)
        behind = [one for one in self.sections if not one.adds]
        faults = any(entry.fault for entry in self.entries if not entry.main)
        return faults or any(one.faulty or one.holds(paths) for one in behind)


@dataclass(frozen=True)
class Group:
    """One step of the form: main entries first, the rest behind a word that opens it."""

    id: str
    title: str
    lead: tuple[FormEntry, ...]
    rest: tuple[FormSection, ...]
    remove: str = ""
    kind: str = ""
    path: str = ""

    def all_entries(self) -> Iterator[FormEntry]:
        """Every entry of the group, the main ones first."""
        yield from self.lead
        for section in self.rest:
            yield from section.all_entries()

    @property
    def hidden_count(self) -> int:
        """How many entries stand behind the main ones."""
        return sum(1 for section in self.rest for _ in section.all_entries())

    def holds(self, paths: Collection[str]) -> bool:
        """Whether what is behind the main entries has one of the paths."""
        return any(section.holds(paths) for section in self.rest)

    @property
    def faulty(self) -> bool:
        """Whether any entry behind the main ones has a fault."""
        return any(section.faulty for section in self.rest)
