"""The one error that the core raises for an input it cannot accept."""

from types import TracebackType

MOST_LISTED = 100  # faults of one text or document; a reader that has found more stops there


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
    detail : str
        The whole sentence, where the label and the unit of the field are known.
    unit : str
        The unit of a bare number, as a text quantity spells it.
    rule : str
        The kind of rule that refused it: "required", "unknown-name", "type", "range", "unit",
        "text", "key", or "consistency" for rules that join several values.

    Examples
    --------
    >>> raise CaseError("solar_reflectance", 1.2, "0 to 1")
    Traceback (most recent call last):
    lcc.errors.CaseError: solar_reflectance is 1.2; allowed: 0 to 1
    """

    def __init__(
        self,
        field: str,
        value: object,
        allowed: str,
        *,
        detail: str = "",
        unit: str = "",
        rule: str = "consistency",
    ) -> None:
        self.field = field
        self.value = value
        self.allowed = allowed
        self.detail = detail
        self.unit = unit
        self.rule = rule
        said = f"{field}: {detail}" if field else detail
        super().__init__(said if detail else f"{field} is {_shown(value)}; allowed: {allowed}")

    @property
    def path(self) -> tuple[str | int, ...]:
        """The field as names and places in lists."""
        steps = filter(None, self.field.split("."))
        return tuple(int(step) if step.isdecimal() else step for step in steps)

    def inside(self, *path: str | int) -> "CaseError":
        """Return the same error with `path` in front of its field."""
        field = ".".join([*map(str, path), *filter(None, [self.field])])
        return CaseError(
            field, self.value, self.allowed, detail=self.detail, unit=self.unit, rule=self.rule
        )


def _shown(value: object) -> str:
    text = "missing" if value is None else repr(value)
    return text if len(text) <= 80 else text[:77] + "..."


class within:  # noqa: N801
    """Put `path` in front of the field of any `CaseError` raised inside.

    Examples
    --------
    >>> with within("roof", "layers", 0):
    ...     raise CaseError("thickness", -1.0, "more than 0")
    Traceback (most recent call last):
    lcc.errors.CaseError: roof.layers.0.thickness is -1.0; allowed: more than 0
    """

    # A class takes a third of the time of a generator, and layers enter it at every roof.
    def __init__(self, *path: str | int) -> None:
        self.path = path

    def __enter__(self) -> None:
        return None

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:  # fmt: skip
        if isinstance(error, CaseError):
            raise error.inside(*self.path) from None
