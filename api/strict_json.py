"""Exact JSON whose faults are a problem document."""

from typing import Any

from api.problems import Problem, error_at
from lcc import exact_json
from lcc.errors import CaseError

ALLOWED = "JSON of RFC 8259: each name once in an object, and numbers that are finite"


def loads(body: bytes) -> Any:
    """Return the value that a body holds.

    Raises
    ------
    Problem
        400 with every fault and its place.

    Examples
    --------
    >>> loads(b'{"a": 1, "a": 2}')
    Traceback (most recent call last):
    api.problems.Problem: The body is not exact JSON; #/a The name 'a' is given more than once.
    """
    try:
        return exact_json.loads(body)
    except exact_json.JsonError as error:
        errors = [
            error_at(path, CaseError("", None, ALLOWED, detail=detail, rule="json"))
            for path, detail in error.places
        ]
        raise Problem("not-json", error.detail, errors) from None
