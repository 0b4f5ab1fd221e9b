"""Corrections for tapers, openings and steel: an equivalent resistance with the same U."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from lcc.case.layers import Fasteners, Layer
from lcc.errors import CaseError, within
from lcc.heat import iso6946

# Mean of a taper over its plan, in parts of its greatest thickness.
MEAN_TAPER = {"rectangle": 1 / 2, "thick-apex": 1 / 3, "thin-apex": 2 / 3}


@dataclass(frozen=True)
class ResolvedLayer:
    """A layer as the calculation sees it: resistance and heat capacity per area."""

    name: str
    role: str
    thickness_m: float
    resistance_m2k_w: float
    capacity_j_m2k: float


@dataclass(frozen=True)
class Films:
    """Surface resistances [m²K/W]; `sheltered` is that of a face in ventilated still air."""

    inside: float
    outside: float
    sheltered: float


def corrected(
    solid: Sequence[ResolvedLayer], layers: Sequence[Layer], films: Films
) -> tuple[ResolvedLayer, ...]:
    """Return the layers with openings, tapers and steel put into their resistances.

    Parameters
    ----------
    solid : sequence of ResolvedLayer
        Outside to inside, plain.
    layers : sequence of Layer
        What the case says of them.
    films : Films
        Surface resistances that belong to the component.

    Raises
    ------
    CaseError
        With the field within the layer, where a correction would void it.

    Notes
    -----
    Each correction of ISO 6946 is one of the whole component; the layer's resistance is moved
    until the component has the corrected U, so that the steady and the dynamic model share it.
    """
    whole = list(solid)
    for correct in (_ventilated, _tapered, _fastened):
        for index, layer in enumerate(layers):
            with within(index):
                whole[index] = correct(whole, index, layer, films)
    return tuple(whole)


def _total(layers: Sequence[ResolvedLayer], films: Films) -> float:
    return films.inside + films.outside + sum(layer.resistance_m2k_w for layer in layers)


def _moved(
    layer: ResolvedLayer, by: float, field: str, value: float, allowed: str
) -> ResolvedLayer:
    resistance = layer.resistance_m2k_w + by
    if resistance <= 0:
        raise CaseError(field, value, allowed)
    return replace(layer, resistance_m2k_w=resistance)


def _check_thick(solid: ResolvedLayer, allowed: str) -> None:
    if solid.thickness_m == 0:
        raise CaseError("thickness", None, allowed)


def _ventilated(
    whole: Sequence[ResolvedLayer], index: int, layer: Layer, films: Films
) -> ResolvedLayer:
    """An air layer with openings; layers outside it count less the more it is ventilated."""
    if layer.air_gap_m is None or layer.air_openings_mm2_m2 <= iso6946.UNVENTILATED_MM2:
        return whole[index]
    closed = _total(whole, films)
    inner = sum(part.resistance_m2k_w for part in whole[index + 1 :])
    opened = films.inside + inner + films.sheltered
    target = iso6946.slightly_ventilated(layer.air_openings_mm2_m2, closed, opened)
    return _moved(
        whole[index], target - closed, "air_openings", layer.air_openings_mm2_m2,
        "openings that leave some resistance; put the outer layers into a vented cavity instead",
    )  # fmt: skip


def _tapered(
    whole: Sequence[ResolvedLayer], index: int, layer: Layer, films: Films
) -> ResolvedLayer:
    """A layer whose thickness grows from its thin end; the heat capacity is that of the mean."""
    solid = whole[index]
    if layer.taper_m == 0:
        return solid
    _check_thick(solid, "that of the thin end of a tapered layer")
    constant = _total(whole, films)
    taper = solid.resistance_m2k_w * layer.taper_m / solid.thickness_m
    u_value = iso6946.tapered_u_value(constant, taper, layer.taper_shape)
    growth = MEAN_TAPER[layer.taper_shape] * layer.taper_m / solid.thickness_m
    return replace(
        solid,
        resistance_m2k_w=solid.resistance_m2k_w + 1 / u_value - constant,
        thickness_m=solid.thickness_m * (1 + growth),
        capacity_j_m2k=solid.capacity_j_m2k * (1 + growth),
    )


def _fastened(
    whole: Sequence[ResolvedLayer], index: int, layer: Layer, films: Films
) -> ResolvedLayer:
    """A layer with steel through it, or through its half."""
    solid, steel = whole[index], layer.fasteners
    if steel is None or steel.number_per_m2 * steel.section_m2 == 0:
        return solid
    _check_thick(solid, "that of the layer which steel passes through")
    depth = solid.thickness_m if steel.full_depth else solid.thickness_m / 2
    total = _total(whole, films)
    correction = iso6946.fastener_correction(
        spaced_conductance(steel, depth), steel.number_per_m2, depth, solid.thickness_m,
        solid.resistance_m2k_w, total,
    )  # fmt: skip
    lost = 1 / (1 / total + correction) - total
    return _moved(
        solid, lost, "fasteners.number", steel.number_per_m2, "less steel than voids the layer"
    )


def spaced_conductance(steel: Fasteners, depth_m: float) -> float:
    """Return λ A of one fastener [W m/K] with its thermal spacer in series.

    Notes
    -----
    A fastener of length d conducts λ A/d; with a spacer of resistance R it conducts
    1/(d/(λ A) + R), which is λ' A/d with λ' A = λ A/(1 + R λ A/d).

    Examples
    --------
    A spacer as resistant as the steel halves what it conducts:

    >>> bare = Fasteners(number_per_m2=1.0, section_m2=1e-4)
    >>> held = Fasteners(number_per_m2=1.0, section_m2=1e-4, spacer_k_w=0.1 / 5e-3)
    >>> round(spaced_conductance(held, 0.1) / spaced_conductance(bare, 0.1), 12)
    0.5
    """
    conductance = steel.conductivity_w_mk * steel.section_m2
    return conductance / (1 + steel.spacer_k_w * conductance / depth_m)
