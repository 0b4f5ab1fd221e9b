"""The one error that the core raises for an input it cannot accept."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager


class CaseError(ValueError):
    """An input that cannot be used: which field, what was given, what is allowed.

    Parameters
    ----------
    field : str
        Dotted path in the words of the case, without unit suffix: ``roof.layers.0.thickness``.
    value : object
        What was given.
    allowed : str
        What would have been accepted, as a phrase that can follow "allowed:".

    Examples
    --------
    >>> raise CaseError("solar_reflectance", 1.2, "0 to 1")
    Traceback (most recent call last):
    lcc.errors.CaseError: solar_reflectance is 1.2; allowed: 0 to 1
    """

    def __init__(self, field: str, value: object, allowed: str) -> None:
        self.field = field
        self.value = value
        self.allowed = allowed
        super().__init__(f"{field} is {_shown(value)}; allowed: {allowed}")


def _shown(value: object) -> str:
    text = "missing" if value is None else repr(value)
    return text if len(text) <= 80 else text[:77] + "..."


@contextmanager
def within(*path: str | int) -> Iterator[None]:
    """Put `path` in front of the field of any `CaseError` raised inside.

    Examples
    --------
    >>> with within("roof", "layers", 0):
    ...     raise CaseError("thickness", -1.0, "more than 0")
    Traceback (most recent call last):
    lcc.errors.CaseError: roof.layers.0.thickness is -1.0; allowed: more than 0
    """
    try:
        yield
    except CaseError as error:
        prefix = ".".join(str(part) for part in path)
        field = f"{prefix}.{error.field}" if error.field else prefix
        raise CaseError(field, error.value, error.allowed) from None
