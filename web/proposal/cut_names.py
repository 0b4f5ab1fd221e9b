"""Names that fit a letter: long ones cut, each there only once."""

from collections.abc import Iterator, Mapping, Sequence
from itertools import accumulate, chain
from typing import Any

from lcc.answer_headline import LETTERS

WIDE = frozenset("W@")


def cut(name: str, letters: int = LETTERS) -> str:
    """Return a name of at most so many letters, fewer where they are wide.

    Examples
    --------
    >>> cut("Roof of the main wing", 10), cut(12 * "W", 10)
    ('Roof of t…', 'WWWWW…')
    """
    return name if _room(name) <= letters else _within(name, letters - 1).rstrip() + "…"


def _room(name: str) -> float:
    """Return how many usual letters take the room of a name."""
    return max(_ends(name), default=0.0)


def _within(name: str, letters: float) -> str:
    """Return as much of a name's beginning as takes the room of so many letters."""
    return name[: sum(end <= letters for end in _ends(name))]


def _ends(name: str) -> Iterator[float]:
    return accumulate(1.6 if letter in WIDE else 1.0 for letter in name)


def cut_middle(name: str, letters: int) -> str:
    """Return a name of at most so many letters that keeps its end, by which roofs differ.

    Examples
    --------
    >>> cut_middle("Elm Street Elementary School, north wing, roof 7", 30)
    'Elm Street Ele…th wing, roof 7'
    """
    if _room(name) <= letters:
        return name
    half = letters // 2
    return f"{name[: letters - 1 - half].rstrip()}…{name[-half:].lstrip()}"


def short_names(names: Sequence[str]) -> tuple[str, ...]:
    """Return names that fit a table, the long ones cut, each there only once.

    Examples
    --------
    >>> short_names(["New roof", 50 * "x"])[1]
    'xxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxx…'
    >>> [name[-5:] for name in short_names([60 * "x", 70 * "x"])]
    ['xxxx…', '… (2)']
    """
    found: list[str] = []
    for name in names:
        fits = _room(name) <= LETTERS
        short = _within(name, LETTERS - 6).rstrip()
        numbered = (f"{short}… ({n})" for n in range(2, 1000))
        found.append(
            next(one for one in chain([cut(name)], numbered)
                 if fits or one not in (*found, *names))
        )  # fmt: skip
    return tuple(found)


def renamed(value: Any, names: Mapping[str, str]) -> Any:
    """Return plain data with names replaced in all its texts, the longest first."""
    if not names:
        return value
    if isinstance(value, str):
        for name in sorted(names, key=len, reverse=True):
            value = value.replace(name, names[name])
        return value
    if isinstance(value, Mapping):
        return {key: renamed(one, names) for key, one in value.items()}
    return [renamed(one, names) for one in value] if isinstance(value, list | tuple) else value


def shortened(reply: Mapping[str, Any]) -> Mapping[str, Any]:
    """Return a reply in which every alternative has a name that fits."""
    names = [one["name"] for one in reply["alternatives"]]
    pairs = zip(names, short_names(names), strict=True)
    found: Mapping[str, Any] = renamed(
        reply, {name: short for name, short in pairs if name != short}
    )
    return found
