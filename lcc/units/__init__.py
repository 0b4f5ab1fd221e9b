"""Units: the only place where a number changes its unit.

The core counts in one unit for each kind of quantity (its name's suffix, `lcc.case.fields.SUFFIX`).
Here every kind has a unit for bare numbers in each system, "si" (the core's own) and "ip", and a
closed table of the spellings that a text such as ``"24000 ft^2"`` may use. The table is exact:
anything that is not in it is refused, so no text can be read in a way that nobody meant.

References
----------
Factors are exact definitions (foot, pound, International Table Btu) or those of NIST Special
Publication 811 (2008), appendix B (US therm, 1.054 804e8 J); the tests hold them against pint.
"""

from lcc.units.convert import (
    KINDS,
    Unit,
    as_read,
    from_core,
    shortest,
    spelled,
    spellings,
    to_core,
    unit,
    unit_read,
)
from lcc.units.table import AMBIGUOUS, FOOT_M, INCH_M, SYSTEMS, System
from lcc.units.typed_quantities import MAX_TEXT, UnitError, example_text, ordered, parse, pattern

__all__ = [
    "AMBIGUOUS", "FOOT_M", "INCH_M", "KINDS", "MAX_TEXT", "SYSTEMS", "System", "Unit", "UnitError",
    "as_read", "example_text", "from_core", "ordered", "parse", "pattern", "shortest", "spelled",
    "spellings", "to_core", "unit", "unit_read",
]  # fmt: skip
