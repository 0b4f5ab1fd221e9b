"""The key that a word of an owner's table means."""

import re
from functools import cache, lru_cache

from rapidfuzz import fuzz, process

from api.portfolio.mapping.value_aliases import VALUES
from api.portfolio.reading.headers import titles
from api.portfolio.vocabulary import known_words
from lcc import tables
from lcc.place import find
from lcc.portfolio.owner_records import MUST_BY, MUST_DO, MUST_NOT, NOT_BEFORE

LONGEST = 200  # characters of a cell that are looked at
BARE = re.compile(r"\b(?:without|no|non|un) ?insul|\buninsul")  # of a deck, in plain words
INSULATED = re.compile(r"\br ?[1-9]|insul(?!ating)|\bbatts?\b|\bblanket")  # of a deck, too
HEATED = re.compile(r"\b(un|(?:not|non|no|without) )?(?:heat|htd|condition)")  # of a warehouse
WAREHOUSE = ("warehouse-unconditioned", "warehouse-heated")
LAID_ON_STEEL = ("gypsum", "insulating", "cement")  # decks, named with the steel that carries them
DENIALS = frozenset({"not", "no", "non", "without", "never"})
_MARKS = ("x", "y", "1", "yes", "true")
_FAMILIES = ("single ply", "membrane", "thermoplastic", "white single ply")
_DECKS = frozenset(
    ["concrete", "conc", "steel", "stl", "metal", "mtl", "wood", "plank", "plywood", "deck"]
)
_LINKS = frozenset({"w", "with", "and"})
MOST_WORDS = 8  # of a run
_YEAR = re.compile(r"(?<!\d)(20\d\d)(?!\d)|(?:\bFY\s*['’]?|['’])(\d\d)(?!\d)", re.I | re.ASCII)
_BEFORE = ("before", "prior to")
_BY = re.compile(r"\b(by|before|prior to|no later than|not later than|due(?! to\b))\b", re.I)
_NUMBERED = re.compile(r"\b(?:years?|yrs?)\W*\d{1,2}\b", re.I | re.ASCII)  # from an unknown start
_UNTIL = re.compile(r"\b(?:until|till|to|before|prior to)\b", re.I)
_PAST = re.compile(r"\b(?:after|end of)\b", re.I)
_GONE = re.compile(r"\b(?:demol|sell|sold|sale|vacat|clos)", re.I)  # a roof without a later year
_NOT_YET = re.compile(r"\bnot (?:before|prior to|until)\b", re.I)
_FROM = re.compile(r"\b(?:after|from|since|starting|not (?:before|prior to|until))\b", re.I)
ALIKE = 90.0  # of 100, how alike a word must be to a known one


@cache
def _spellings(column: str) -> dict[str, str]:
    """Return the words of a column with their keys, in small letters and single spaces."""
    words = known_words(titles("ip")[column][0].facts)
    found = {_plain(shown): key for shown, key in words.shown.items()}
    found |= {_plain(key): key for key in words.folded.values()}
    found |= {_plain(one): key for key, others in VALUES.get(column, {}).items() for one in others}
    return found


def _plain(text: str) -> str:
    said = re.sub("[✓✔☑]", "x", text.casefold())
    joined = re.sub(r"\b(?:[a-z]\.){2,}", lambda found: found[0].replace(".", ""), said)
    plain = " ".join(re.sub(r"[^\w&]+", " ", joined).replace("_", " ").split())
    return re.sub(r"\bw o\b", "without", plain)


def _words(plain: str) -> list[str]:
    """Return the words of a text, without their plural and those that only link others.

    Examples
    --------
    >>> _words("two decks w perlite")
    ['two', 'deck', 'perlite']
    """
    return [re.sub(r"(?<=\w{2}[^s])s$", "", one) for one in plain.split() if one not in _LINKS]


@cache
def _parts(column: str) -> dict[frozenset[str], str]:
    """Return the words of the spellings that may be part of a text, with their keys."""
    return {frozenset(_words(one)): key for one, key in _spellings(column).items() if len(one) > 2}


def _inside(column: str, plain: str) -> list[str]:
    """Return the keys that words beside one another mean, in any order; the longest first.

    What is denied before it, as in "not good", counts for nothing; where a spelling itself denies,
    as "do not touch", no other counts.
    """
    words, parts = _words(plain[:LONGEST]), _parts(column)
    found: list[tuple[int, int, str]] = []
    for count in range(min(MOST_WORDS, len(words)), 0, -1):
        for at in range(len(words) - count + 1):
            run = words[at : at + count]
            within = any(one <= at and at + count <= one + held for one, held, _ in found)
            denied = at > 0 and words[at - 1] in DENIALS
            if not within and not denied and (key := parts.get(frozenset(run))):
                found.append((at, count, key))
    denying = [one for one in found if DENIALS & {*words[one[0] : one[0] + one[1]]}]
    letters = {one: len(" ".join(words[one[0] : one[0] + one[1]])) for one in found}
    return [one[2] for one in sorted(denying or found, key=lambda one: (-letters[one], one[0]))]


def key_of(column: str, text: str) -> str:
    """Return the key that a word means, empty where it is not understood.

    Examples
    --------
    >>> key_of("use", "K-12 School"), key_of("covering", "EPDM (60 mil)"), key_of("use", "Zork")
    ('school', 'epdm-black', '')
    >>> key_of("roof_type", "conc."), key_of("roof_type", "conc. w/o insul")
    ('concrete-deck-perlite', 'concrete-deck-bare')
    >>> key_of("roof_type", "plywood deck R-19"), key_of("roof_type", "plywood deck")
    ('plywood-deck-batts', 'plywood-deck-bare')
    >>> key_of("use", "Garage, heated"), key_of("condition", "not good")
    ('warehouse-heated', '')
    """
    return _key_of(column, text[: 4 * LONGEST])  # most of it may be marks and blanks


@lru_cache(maxsize=2_000)
def _key_of(column: str, text: str) -> str:
    found, plain = _spelled(column, text), _plain(text[:LONGEST])
    if column == "use" and found in WAREHOUSE and (heated := HEATED.search(plain)):
        return WAREHOUSE[not heated[1]]
    bare, held = bool(BARE.search(plain)), found.endswith("-bare") and INSULATED.search(plain)
    if not found or column != "roof_type" or not (bare or held):
        return found
    deck = found.partition("-")[0]
    alike = (one for one in tables.keys("roof_types") if one.partition("-")[0] == deck)
    return next((one for one in alike if one.endswith("-bare") is bare), "" if bare else found)


def _spelled(column: str, text: str) -> str:
    exact = known_words(titles("ip")[column][0].facts).get(text)
    if exact or column == "climate":
        return exact or ""
    spellings, plain = _spellings(column), _plain(text)
    if plain in spellings:
        return spellings[plain]
    top = plain.partition(" over ")[0] if column == "covering" else plain
    inside = _inside(column, top) or _inside(column, plain)
    if inside and column == "condition":  # of "fair/poor" the worse
        return max(inside, key=list(VALUES[column]).index)
    if column == "roof_type":
        inside = [one for one in inside if one.startswith(LAID_ON_STEEL)] or inside
    if inside or len(plain) < 4:
        return inside[0] if inside else ""
    near = process.extractOne(plain, spellings.keys(), scorer=fuzz.ratio, score_cutoff=ALIKE)
    return spellings[near[0]] if near else ""


@lru_cache(maxsize=2_000)
def stacked(text: str) -> list[str]:
    """Return the keys of coverings that lie one over another, none where it does not say so.

    Examples
    --------
    >>> stacked("TPO over BUR"), stacked("TPO over deck")
    (['tpo-white', 'built-up-gravel'], [])
    """
    laid = [_inside("covering", one) for one in _plain(text[:LONGEST]).split(" over ")]
    keys = [inside[0] for inside in laid if inside]
    return keys if len(keys) > 1 else []


def doubt(column: str, text: str) -> str:
    """Return why a word that is understood should be looked at, empty where it need not.

    Examples
    --------
    >>> doubt("covering", "TPO over BUR"), doubt("covering", "BUR w/ gravel")
    ('the top one is taken; 2 coverings are counted, unless a column says how many', '')
    >>> doubt("condition", "fair/poor"), doubt("condition", "B")
    ('two named, of which the worse is taken', 'a grade of letters: is this what it means?')
    >>> doubt("roof_type", "concrete"), doubt("roof_type", "concrete, bare")
    ('only the deck is named: is this its insulation?', '')
    >>> doubt("use", "shop - heated only"), doubt("use", "warehouse, heated")
    ('heated or not goes with a warehouse or a factory: is it one of these?', '')
    """
    plain = _plain(text[:LONGEST])
    named = {*_inside(column, plain)} if plain not in _spellings(column) else set()
    if column == "covering" and (laid := len(stacked(text))):
        return f"the top one is taken; {laid} coverings are counted, unless a column says how many"
    if column in ("covering", "condition", "use") and len(named) > 1:
        which = "worse" if column == "condition" else "first or longest"
        return f"two named, of which the {which} is taken"
    if column == "must" and plain in _MARKS:
        return "a mark alone: is must-do what it means?"
    if column == "condition" and len(plain) == 1 and plain.isalpha():
        return "a grade of letters: is this what it means?"
    if column == "covering" and plain in _FAMILIES:
        return "may be TPO, PVC or EPDM: which is it?"
    return "said with a question mark: check it" if "?" in text else _left_open(column, text, plain)


def _left_open(column: str, text: str, plain: str) -> str:
    """Return what a word for a deck or a use does not say, or says of another, empty for none."""
    key = key_of(column, text)
    if column == "use" and HEATED.search(plain) and not key.startswith(("warehouse", "manufact")):
        return "heated or not goes with a warehouse or a factory: is it one of these?"
    if column != "roof_type":
        return ""
    if INSULATED.search(plain) and not BARE.search(plain) and plain not in _spellings(column):
        return "what the roof type has is counted: enter the R-value in a column of its own"
    only_deck = {*_words(plain)} <= _DECKS and not key.endswith("-bare")
    return "only the deck is named: is this its insulation?" if only_deck else ""


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
    >>> [must_of(text, 2026) for text in ("defer until 2028", "hold to after FY28", "wait 2028")]
    ['not-before-2', 'not-before-3', '']
    >>> must_of("not before 2028", 2026), must_of("NO - to be demolished 2027", 2026)
    ('not-before-2', 'must-not')
    >>> [must_of(text, 2026) for text in ("must do by year 2", "must do by fall", "must-do-by-2")]
    ['', '', 'must-do-by-2']
    """
    found, named = key_of("must", text), _YEAR.search(text[:LONGEST])
    if not named:
        return "" if asks_year(text) else found
    said, year = text[: named.start()], int(named[1] or 2000 + int(named[2])) - first_year
    if found == MUST_NOT or (not found and _NOT_YET.search(said)):
        return _put_off(said, year) if not _GONE.search(text[:LONGEST]) else found
    by = _BY.search(said)
    if not by or _FROM.search(said):
        return ""
    key = f"{MUST_DO}-by-{year - (by[1].casefold() in _BEFORE)}"
    return key if key in MUST_BY else ""


def asks_year(text: str) -> bool:
    """Tell whether a text says by when, but no calendar year and no year of the plan.

    Examples
    --------
    >>> [asks_year(text) for text in ("by year 2", "due in spring", "by 2028", "due to leaks")]
    [True, True, False, False]
    """
    said = text[:LONGEST]
    dated = key_of("must", text) in {*MUST_BY, *NOT_BEFORE} or _YEAR.search(said)
    return not dated and bool(_BY.search(said) or _NUMBERED.search(said))


def _put_off(said: str, year: int) -> str:
    """Return what the words before a year of the plan put off; beyond any plan it is not done."""
    if year <= 0 or not (_FROM.search(said) or _UNTIL.search(said)):
        return ""
    key = f"not-before-{year + bool(_PAST.search(said))}"
    return key if key in NOT_BEFORE else MUST_NOT


def station(written: str) -> str:
    """Return the key of the climate that a text names, or that is nearest to the place it names."""
    return key_of("climate", written) or located(written)[0] if written else ""


def located(written: str) -> tuple[str, str]:
    """Return the climate nearest to a place, and how far it is; both empty where unknown."""
    found = find(re.sub(r"\s*\(([A-Za-z. ]+)\)$", r", \1", written), alike=False)
    if not found.exact or len(found.places) != 1:
        return "", ""
    return found.places[0].station.key, found.places[0].station.words
