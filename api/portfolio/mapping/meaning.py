"""The key that a word of an owner's table means."""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import cache, lru_cache

from rapidfuzz import fuzz, process

from api.portfolio.mapping.value_aliases import VALUES
from api.portfolio.reading.headers import titles
from api.portfolio.vocabulary import known_words
from lcc.place import find
from lcc.portfolio.condition import MUST_BY, MUST_DO

LONGEST = 200  # characters of a cell that are looked at
MOST_WORDS = 16  # of a run of words, gaps counted
BARE = re.compile(r"\b(?:without|w ?o|no|non|un) ?insul|\buninsul")  # of a deck, in plain words
_YEAR = re.compile(r"(?<!\d)(20\d\d)(?!\d)|(?:\bFY\s*['’]?|['’])(\d\d)(?!\d)", re.I | re.ASCII)
_BEFORE = ("before", "prior to")
_BY = re.compile(r"\b(by|before|prior to|no later than|not later than|due)\b", re.I)
_FROM = re.compile(r"\b(?:after|from|since|starting|not (?:before|prior to|until))\b", re.I)
CLOSE = 90.0  # of 100, how alike a word must be to a known one


@cache
def _spellings(column: str) -> dict[str, str]:
    """Return the words of a column with their keys, in small letters and single spaces."""
    facts = titles("ip")[column][0].facts
    words = known_words(facts)
    found = {_plain(shown): key for shown, key in words.shown.items()}
    found |= {_plain(key): key for key in words.folded.values()}
    found |= {_plain(one): key for key, others in VALUES.get(column, {}).items() for one in others}
    return found


def _plain(text: str) -> str:
    return " ".join(re.sub(r"[^\w&+]+", " ", text.casefold()).replace("_", " ").split())


def _runs(plain: str) -> Iterator[str]:
    """Yield the runs of words in a text, also without their plural.

    Examples
    --------
    >>> list(_runs("two decks"))
    ['two', 'decks', 'deck', 'two decks', 'two deck']
    """
    words = re.findall(r"\w+|\W", plain[:LONGEST])
    for count in range(1, MOST_WORDS, 2):
        for at in range(len(words) - count + 1):
            run = "".join(words[at : at + count])
            if len(run) > 2:
                yield run
                if run.endswith("s"):
                    yield run[:-1]


@lru_cache(maxsize=20_000)
def key_of(column: str, text: str) -> str:
    """Return the key that a word means, empty where it is not understood.

    Examples
    --------
    >>> key_of("use", "K-12 School"), key_of("covering", "EPDM (60 mil)"), key_of("use", "Zork")
    ('school', 'epdm-black', '')
    >>> key_of("roof_type", "conc."), key_of("roof_type", "conc. w/o insul")
    ('concrete-deck-perlite', 'concrete-deck-bare')
    """
    found = _key_of(column, text)
    if not found or column != "roof_type" or not BARE.search(_plain(text[:LONGEST])):
        return found
    bare = (key for key in known_words(titles("ip")[column][0].facts).folded.values()
            if key.endswith("-bare") and key.split("-")[0] == found.split("-")[0])  # fmt: skip
    return next(bare, "")


def _key_of(column: str, text: str) -> str:
    facts = titles("ip")[column][0].facts
    exact = known_words(facts).get(text)
    if exact or column == "climate":
        return exact or ""
    spellings, plain = _spellings(column), _plain(text)
    if plain in spellings:
        return spellings[plain]
    inside = [one for one in _runs(plain) if one in spellings]
    if inside and column == "condition":  # of "fair/poor" the worse
        return max((spellings[one] for one in inside), key=list(VALUES[column]).index)
    if inside:
        return spellings[max(inside, key=len)]
    if len(plain) < 4:
        return ""
    near = process.extractOne(plain, spellings.keys(), scorer=fuzz.ratio, score_cutoff=CLOSE)
    return spellings[near[0]] if near else ""


def must_of(text: str, first_year: int) -> str:
    """Return what must become of a roof, with the year of the plan that a cell names.

    A year that is no year of a plan, or with no word such as "by" before it, stays open.

    Parameters
    ----------
    text : str
        The cell.
    first_year : int
        Calendar year of the plan's year 0.

    Examples
    --------
    >>> [must_of(text, 2026) for text in ("Do by FY28", "by 6/30/2027", "before 2028", "must do")]
    ['must-do-by-2', 'must-do-by-1', 'must-do-by-1', 'must-do']
    >>> [must_of(text, 2026) for text in ("Do by 2020", "must do, not before 2028", "Do 2028")]
    ['', '', '']
    """
    found, named = key_of("must", text), _YEAR.search(text[:LONGEST])
    if not named or (found and found != MUST_DO):
        return found
    word = _BY.search(text[: named.start()])
    if not word or _FROM.search(text[: named.start()]):
        return ""
    year = int(named[1] or 2000 + int(named[2])) - (word[1].casefold() in _BEFORE)
    key = f"{MUST_DO}-by-{year - first_year}"
    return key if key in MUST_BY else ""


def station(written: str) -> str:
    """Return the key of the climate that a text names, or that is nearest to the place it names."""
    return key_of("climate", written) or located(written)[0] if written else ""


@lru_cache(maxsize=20_000)
def located(written: str) -> tuple[str, str]:
    """Return the climate nearest to a place, and how far it is; both empty where unknown."""
    found = find(re.sub(r"\s*\(([A-Za-z. ]+)\)$", r", \1", written), alike=False)
    if not found.exact or len(found.places) != 1:
        return "", ""
    return found.places[0].station.key, found.places[0].station.words
