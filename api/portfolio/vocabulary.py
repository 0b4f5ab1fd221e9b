"""The words of columns of keys or choices: table keys and names, places, nearest spellings."""

import re
import unicodedata
from dataclasses import dataclass
from functools import cache

from rapidfuzz.distance.Indel import normalized_similarity

from lcc import tables
from lcc.case.fields import Facts
from lcc.errors import CaseError
from lcc.place import find, locate

MOST_SHOWN = 3
MOST_STATES = 6  # of a town that several have
_LIST = "the data dictionary lists all"
_AREA = re.compile(r"(.+?) \((.+) area\)")
_STATE = re.compile(r".*[ ,.-]([A-Za-z]{2})\.?")


@dataclass(frozen=True)
class Words:
    """Known words by their folded spellings, and the spelling that is shown of each."""

    folded: dict[str, str]
    shown: dict[str, str]
    rule: str

    def get(self, text: str) -> str | None:
        """Return the value that a text stands for, if it is known."""
        return self.folded.get(fold(text))


def fold(text: str) -> str:
    """Return a text by its letters and digits alone.

    Examples
    --------
    >>> fold("EPDM black") == fold("epdm-black")
    True
    """
    return re.sub(r"[\W_]+", "", unicodedata.normalize("NFKC", text).casefold())


@cache
def known_words(facts: Facts) -> Words:
    """Return what a column of keys or choices knows."""
    if facts.type == "choice":
        return _words({option: [option] for option in facts.options}, ", ".join(facts.options))
    if facts.table == "climates":
        spelled = {key: _places(row) for key, row in tables.rows("climates").items()}
        rule = f"a place with a climate, such as {_quoted(_shown(spelled))}; {_LIST}"
        return _words(spelled, rule)
    spelled = {key: [key, str(row["name"])] for key, row in tables.rows(facts.table).items()}
    return _words(spelled, f"one of the known words, such as {_quoted(spelled)}; {_LIST}")


def _words(spelled: dict[str, list[str]], rule: str) -> Words:
    folded: dict[str, str] = {}
    for key, spellings in spelled.items():
        for spelling in spellings:
            folded.setdefault(fold(spelling), key)
    folded |= {fold(key): key for key in spelled}  # a key is never another's name
    return Words(folded, _shown(spelled), rule)


def _shown(spelled: dict[str, list[str]]) -> dict[str, str]:
    return {spellings[0]: key for key, spellings in spelled.items()}


def _places(row: dict[str, object]) -> list[str]:
    """Return how a climate's place may be written; of ``A (B area)`` both towns.

    Examples
    --------
    >>> _places({"city": "Golden (Denver area)", "state": "CO"})
    ['Golden, CO', 'Golden (Denver area), CO', 'Denver, CO']
    """
    city, state = str(row["city"]), str(row["state"])
    area = _AREA.fullmatch(city)
    town = city.partition(" (")[0]
    more = [area[2]] if area else city.split("-") if "-" in city else []
    return list(dict.fromkeys(f"{one}, {state}" for one in (town, city, *more)))


def nearest(text: str, words: Words) -> str:
    """Return what is allowed, with the known words that are nearest to a text.

    Examples
    --------
    >>> from lcc.case.fields import Key
    >>> nearest("gym", known_words(Key("building_uses", "Use")))
    'one of the known words; nearest: "gymnasium"; the data dictionary lists all'
    """
    places = any(shown.rpartition(", ")[2].isupper() for shown in words.shown)
    near = _of_state(text, words) if places else _alike(text, words)
    if not near:
        return words.rule
    told = f"one of the known words; nearest: {_quoted(near)}"
    if places:
        told = f"a place with a climate; nearest by name or state: {_quoted(near)}"
    return f"{told}; {_LIST}" if len(words.shown) > len(near) else told


def one_place(written: str) -> str:
    """Return what to write in a table with a mapping instead of a place that is no one place.

    Examples
    --------
    >>> one_place("Joliet")
    'a town with its state; Joliet is in IL, MT: write the state'
    """
    found = find(written)
    states = [place.name.rpartition(", ")[2] for place in found.places]
    if found.exact and len(states) > 1:
        town = found.places[0].name.rpartition(", ")[0]
        several = ", ".join(states[:MOST_STATES]) + ", ..." * (len(states) > MOST_STATES)
        return f"a town with its state; {town} is in {several}: write the state"
    try:
        return f"a place that is known; the mapping leaves {locate(written).name} open: correct it"
    except CaseError as error:
        return f"a place that is known; type {error.allowed}"


def _of_state(text: str, words: Words) -> list[str]:
    """Return places with similar names, then those of the same state."""
    state = _STATE.fullmatch(text.strip())
    town = fold(text[: state.start(1)] if state else text)
    alike = [one for one in words.shown if _ratio(town, fold(one.rpartition(", ")[0])) > 0.75]
    same = [one for one in words.shown if state and one.endswith(f", {state[1].upper()}")]
    both = [one for one in alike if one in same]
    return list(dict.fromkeys([*both, *(alike if not both else []), *same]))[:MOST_SHOWN]


def _alike(text: str, words: Words) -> list[str]:
    """Return the words that share the most beginnings of words with a text, or its letters."""
    scores = {}
    for shown, key in words.shown.items():
        spellings = [folded for folded, owner in words.folded.items() if owner == key]
        letters = max(_ratio(fold(text), folded) for folded in spellings)
        scores[shown] = _shared(text, shown) + (letters if letters > 0.55 else 0.0)
    best = sorted((one for one in scores if scores[one]), key=lambda one: -scores[one])
    return best[:MOST_SHOWN]


def _shared(text: str, shown: str) -> int:
    mine, theirs = (re.findall(r"[^\W_]{3,}", one.casefold()) for one in (text, shown))
    return sum(any(a.startswith(b) or b.startswith(a) for b in theirs) for a in mine)


def _ratio(one: str, other: str) -> float:
    return float(normalized_similarity(one[:80], other[:80]))


def _quoted(words: object) -> str:
    return ", ".join(f'"{word}"' for word in list(words)[:MOST_SHOWN])  # type: ignore[call-overload]
