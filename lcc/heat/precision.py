"""Numbers of four or of eight bytes: quick ones to iterate with, exact ones to answer with."""

from dataclasses import fields, is_dataclass
from typing import Any

import numpy as np

from lcc.arrays import Array

SINGLE, DOUBLE = 4, 8


def in_precision(value: Any, size: int) -> Any:
    """Return an array, or a dataclass with all its arrays, in numbers of 4 or 8 bytes.

    Examples
    --------
    >>> in_precision(np.zeros(2), SINGLE).dtype, in_precision(1j * np.zeros(2), SINGLE).dtype
    (dtype('float32'), dtype('complex64'))
    """
    if isinstance(value, np.ndarray):
        parts = {"f": 1, "c": 2}.get(value.dtype.kind)
        return value.astype(f"{value.dtype.kind}{size * parts}") if parts else value
    if not is_dataclass(value):
        return value
    # Only given fields are taken: a kept property would round differently from a new one, and
    # figures would depend on what was solved before.
    other = object.__new__(type(value))
    vars(other).update(
        (each.name, in_precision(vars(value)[each.name], size)) for each in fields(value)
    )
    return other


def by_sign(values: Array, above: float, otherwise: float) -> Array:
    """Return one number where values are above 0, another elsewhere, in the values' precision.

    Examples
    --------
    >>> by_sign(np.array([-1.0, 0.0, 2.0]), 3.0, 4.0).tolist()
    [4.0, 4.0, 3.0]
    """
    kind = values.dtype.type
    # Half the time of numpy.where.
    found = np.multiply(values > 0, kind(above - otherwise))
    found += kind(otherwise)
    return np.asarray(found)
