"""Quantities of a framing survey: the request, and the answer as JSON, CSV or spreadsheet."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Annotated, Any

from flask import Response

from api import quantities_export as export
from api import schemas, service
from api.assemblies import annual
from api.portfolio.tables_out import XLSX, as_csv, as_xlsx
from api.problems import from_case_error
from api.reply_parts import ECHO, echo
from api.requests import json_answer
from lcc import tables
from lcc.case import Assembly, Framing, Layer, MetalRetrofit, Site
from lcc.case.fields import CasePart, Key, Part, Parts, Quantity
from lcc.errors import CaseError
from lcc.heat import climate as climates
from lcc.quantities import Quantities, framed, of_retrofit
from lcc.units import System

JSON, CSV = "application/json", "text/csv"
REPLIES = (JSON, CSV, XLSX)
INDOOR_C = 22.0  # under the panel in its year; the panel's temperature hardly depends on it

# Fields are laid out by hand, to be read as a table.
# fmt: off


@dataclass(frozen=True)
class QuantitiesRequest(CasePart):
    """A survey, and the panel's hottest and coldest hour: from a climate, or two readings."""

    framing: Annotated[Framing, Part("Framing from a survey")]
    layers: Annotated[tuple[Layer, ...], Parts(
        "Layers laid on the old roof, outside to inside")] = ()
    panel: Annotated[str, Key(
        "panels", "Panel finish", basis="demo", source="an invented school")] = "painted-light"
    climate: Annotated[str | None, Key(
        "climates", "Climate", when_unset="no panel temperatures from the heat model",
        help="With layers: the panel's temperatures over the year are those of the heat "
        "model.")] = None
    coldest_panel_c: Annotated[float | None, Quantity(
        "temperature", "Coldest panel of the year", low=-80, high=60,
        when_unset="from the climate, or no thermal movement")] = None
    hottest_panel_c: Annotated[float | None, Quantity(
        "temperature", "Hottest panel of the year", low=-40, high=120,
        when_unset="from the climate, or no thermal movement")] = None

    def __post_init__(self) -> None:
        super().__post_init__()
        if (self.coldest_panel_c is None) != (self.hottest_panel_c is None):
            raise CaseError("hottest_panel", self.hottest_panel_c, "both panel temperatures")
        if self.climate is not None and not self.layers:
            raise CaseError("layers", [], "at least one layer where a climate is given")


# fmt: on


def take(request: QuantitiesRequest) -> Quantities:
    """Return the quantities of a request.

    Raises
    ------
    Problem
        Where figures of the survey do not fit together.
    """
    retrofit = MetalRetrofit(framing=request.framing, layers=request.layers, panel=request.panel)
    try:
        taken = of_retrofit(retrofit, _panel_temperatures(request, retrofit))
    except CaseError as error:
        raise from_case_error(error) from None
    assert taken is not None  # the request holds a survey
    return taken


def _panel_temperatures(
    request: QuantitiesRequest, retrofit: MetalRetrofit
) -> tuple[float, float] | None:
    if request.coldest_panel_c is not None and request.hottest_panel_c is not None:
        return request.coldest_panel_c, request.hottest_panel_c
    if request.climate is None:
        return None
    row = tables.rows("panels")[request.panel]
    filled = framed(retrofit)
    assembly = Assembly(
        layers=filled.layers, cavity=filled.cavity, slope=filled.slope,
        solar_reflectance=float(row["solar_reflectance"]),
        thermal_emittance=float(row["thermal_emittance"]),
    )  # fmt: skip
    year = annual(assembly, climates.load(Site(climate=request.climate)), INDOOR_C)
    return year.coldest_surface_c, year.hottest_surface_c


def document(
    request: QuantitiesRequest, system: System, given: dict[str, Any], include: Sequence[str] = ECHO
) -> dict[str, object]:
    """Return the answer to a request, in its units; the request is echoed as typed."""
    answer = schemas.schema_for(Quantities, system, reply=True)()
    return {
        **service.versions(), "units": system, **echo(include, given), **answer.dump(take(request)),
    }  # fmt: skip


def response(
    request: QuantitiesRequest,
    system: System,
    given: dict[str, Any],
    media_type: str | None,
    include: Sequence[str] = ECHO,
) -> Response:
    """Return the answer in the media type asked for."""
    if media_type in (None, JSON):
        return json_answer(document(request, system, given, include))
    taken, ending = take(request), "csv" if media_type == CSV else "xlsx"
    body = (as_csv(export.table(taken, system)) if media_type == CSV
            else as_xlsx(export.sheets(taken, system)))  # fmt: skip
    made = Response(body, mimetype=media_type)
    made.headers["Content-Disposition"] = f'attachment; filename="quantities.{ending}"'
    return made
