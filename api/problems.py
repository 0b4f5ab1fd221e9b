"""Faults of a request and the problem document that answers them (RFC 9457)."""

import errno
from collections.abc import Iterable, Mapping, Sequence
from typing import Any
from urllib.parse import quote

from lcc import tables
from lcc.case.document_values import ABSENT, capital, named, value_at
from lcc.document_reader import DocumentError, Path
from lcc.errors import MOST_LISTED, CaseError

MEDIA_TYPE = "application/problem+json"
TYPES_PATH = "/v1/problems/"
LONGEST_VALUE = 80
FULL = (errno.ENOSPC, errno.EDQUOT)  # errors of a disk without room

# Name of a problem type -> status, title.
TYPES = {one["type"]: (int(one["status"]), one["title"]) for one in tables.words("problem_types")}

# Problem types of the limits that have one, by the member that is too long; its least is 0 or 1.
LIMITS = {
    "layers": "too-many-layers",
    "assemblies": "too-many-assemblies",
    "alternatives": "too-many-alternatives",
    "study_period": "study-period-too-long",
}


class Problem(Exception):  # noqa: N818 (RFC 9457 calls it a problem)
    """An answer other than success, ready to be written as a problem document.

    Parameters
    ----------
    name : str
        A name of `TYPES`, which gives status and title.
    detail : str
        What is wrong, for a person.
    errors : sequence of mappings
        One entry for each fault, as made by `error_at`.
    headers : mapping
        Headers that the answer needs besides: ``Allow``, ``Retry-After``.
    """

    def __init__(
        self,
        name: str,
        detail: str,
        errors: Sequence[Mapping[str, Any]] = (),
        headers: Mapping[str, str] | None = None,
    ) -> None:
        self.name = name
        self.status, self.title = TYPES[name]
        self.detail = detail
        self.errors = tuple(errors)
        self.headers = dict(headers or {})
        super().__init__(detail)

    def document(self, prefix: str = "") -> dict[str, Any]:
        """Return the members of the problem document; `prefix` is that of a proxy before us."""
        document: dict[str, Any] = {
            "type": prefix + TYPES_PATH + self.name,
            "title": self.title,
            "status": self.status,
            "detail": self.detail,
        }
        if self.errors:
            document["errors"] = [dict(error) for error in self.errors[:MOST_LISTED]]
        return document

    def __str__(self) -> str:
        shown = [f"{error.get('pointer', '')} {error['detail']}" for error in self.errors]
        return "; ".join([self.detail, *shown])


def later(name: str, detail: str, after_s: int) -> Problem:
    """Return a problem that says when to ask again."""
    return Problem(name, detail, headers={"Retry-After": str(after_s)})


def pointer(path: Iterable[str | int]) -> str:
    """Return a path as a JSON pointer in URI fragment form (RFC 6901, section 6).

    Examples
    --------
    >>> pointer(["roof", "layers", 0, "a/b"])
    '#/roof/layers/0/a~1b'
    """
    tokens = (str(part).replace("~", "~0").replace("/", "~1") for part in path)
    return "#" + "".join("/" + quote(token, safe="~!$&'()*+,;=:@") for token in tokens)


def _shown(value: Any) -> Any:
    if isinstance(value, str):
        clean = value.encode("utf-8", "backslashreplace").decode()
        return clean if len(clean) <= LONGEST_VALUE else clean[: LONGEST_VALUE - 3] + "..."
    if value is None or isinstance(value, bool | int | float):
        return value if (not isinstance(value, float) or abs(value) < float("inf")) else str(value)
    return ABSENT


def error_at(path: Sequence[str | int], fault: CaseError, payload: Any = ABSENT) -> dict[str, Any]:
    """Return one entry of the errors list: sentence, pointer, value given, allowed, unit, rule."""
    detail = fault.detail or _said(fault)
    error: dict[str, Any] = {"detail": _of_part(path, detail), "pointer": pointer(path)}
    value = _shown(value_at(payload, path))
    if value is not ABSENT:
        error["value"] = value
    error |= {k: v for k, v in (("allowed", fault.allowed), ("unit", fault.unit)) if v}
    return error | {"rule": fault.rule}


def _said(error: CaseError) -> str:
    name = error.field.rsplit(".", 1)[-1].replace("_", " ") or "This"
    given = "missing" if error.value is None else "not usable here"
    if isinstance(error.value, str) and error.value:
        given = named(error.value)
    return f"{capital(name)} is {given}; allowed: {error.allowed}."


def _of_part(path: Sequence[str | int], detail: str) -> str:
    """Return a sentence that names the part of a survey that its path leads into.

    Examples
    --------
    >>> _of_part(["framing", "rectangles", 1, "slope"], "Slope is 2."), _of_part(["roof"], "No.")
    ('Part 2: Slope is 2.', 'No.')
    """
    after = path[path.index("rectangles") + 1 :] if "rectangles" in path else []
    number = after[0] if len(after) > 1 else None
    if not isinstance(number, int) or detail.startswith("Part "):
        return detail
    return f"Part {number + 1}: {detail}"


def invalid(places: Sequence[tuple[Path, CaseError]], payload: Any) -> Problem:
    """Return the problem of a request whose values cannot be used, all faults at once."""
    limits = [LIMITS[str(path[-1])] for path, fault in places if fault.rule == "limit"]
    consistency = all(fault.rule == "consistency" for _, fault in places)
    name = limits[0] if limits else "inconsistent-case" if consistency else "invalid-input"
    count = len(places)
    many = f"More than {MOST_LISTED} values cannot be used; the first {MOST_LISTED} are listed. "
    few = f"{count} value{'s' if count > 1 else ''} cannot be used. "
    detail = many if count > MOST_LISTED else few
    return Problem(
        name,
        detail + "Each error has the place of the value and what is allowed there.",
        tuple(error_at(path, fault, payload) for path, fault in places[:MOST_LISTED]),
    )


def from_case_error(*errors: CaseError, payload: Any = ABSENT) -> Problem:
    """Return the problem of inputs that the core refused; the words are the core's own."""
    return invalid([(error.path, error) for error in errors], payload)


def unusable(document: DocumentError, payload: Any, without: Sequence[str] = ()) -> Problem:
    """Return the problem of a document that cannot be used, without the faults of some rules."""
    places = [(path, _limited(path, error)) for path, error in document.places]
    return invalid([place for place in places if place[1].rule not in without], payload)


def _limited(path: Path, error: CaseError) -> CaseError:
    """Return an error, under a rule of its own where its limit has a problem type of its own."""
    value: Any = error.value
    if not path or error.rule != "range" or str(path[-1]) not in LIMITS:
        return error
    if (len(value) if isinstance(value, list) else value) <= 1:
        return error
    return CaseError(
        error.field, value, error.allowed, detail=error.detail, unit=error.unit, rule="limit"
    )
