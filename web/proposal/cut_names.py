"""Names that fit a letter: long ones cut, each there only once."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

LETTERS = 40


def cut(name: str, letters: int = LETTERS) -> str:
    """Return a name of at most so many letters."""
    return name if len(name) <= letters else name[: letters - 1].rstrip() + "…"


def cut_middle(name: str, letters: int) -> str:
    """Return a name of at most so many letters that keeps its end, by which roofs differ.

    Examples
    --------
    >>> cut_middle("Elm Street Elementary School, north wing, roof 7", 30)
    'Elm Street Ele…th wing, roof 7'
    """
    if len(name) <= letters:
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
        fits = len(name) <= LETTERS
        numbered = (f"{name[: LETTERS - 6].rstrip()}… ({n})" for n in range(2, 1000))
        found.append(
            next(one for one in (cut(name), *numbered) if fits or one not in (*found, *names))
        )
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
