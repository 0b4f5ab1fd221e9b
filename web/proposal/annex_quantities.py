"""Annex: the roof in layers as it is and as proposed, and what a surveyed retrofit takes."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import asdict
from itertools import accumulate
from xml.etree import ElementTree as Xml

from lcc import units
from lcc.case import Framing, MetalRetrofit
from lcc.quantities.drainage import sized_by
from lcc.quantities.movement import FITS
from web import format as fmt
from web import measures_table
from web.answer_tables import amount
from web.assumptions_table import without_table
from web.charts import Reply, Table
from web.drawings.roof_section import Drawing, drawings
from web.proposal.blocks import (
    Block,
    Column,
    as_table,
    beside,
    bullets,
    drawing,
    heading,
    sheet,
    small,
    table,
    text,
)
from web.proposal.offer import Offer
from web.quantities_table import GUTTERS, Takeoff, priced

FONT = "Source Sans 3"
HEAD = 2  # a table's head is as high as so many rows
NARROW = (3.0, 1.2)  # widths of a table of two columns, which stands beside another
# Between the build-up and what the letter has for laying the roof.
PERMIT = (
    "Less its permit, with the contingency, overhead and profit on it: in the letter under Permit, "
    "general conditions"
)
STONE = "Less loose stone: in the letter under Take off ballast"
STONE_APART = "Not in this bill: loose stone, in the letter under Take off ballast"
LAID = "In the letter under Lay the new roof"
# What is bought and weighed as purlin, by member of the reply.
AS_PURLIN = {
    "purlins": "purlins", "purlin_laps": "laps", "cross_members": "cross members",
    "heavier_purlins": "allowance for long spans", "valley_support": "supports under valleys",
}  # fmt: skip
MARGINS = 3.0  # letters, of a cell left and right
TALLEST = 640.0  # px; layers that need more are listed and not drawn


def quantities(offer: Offer) -> Block:
    """Return the annex of the roof's layers and of everything that was surveyed."""
    taken = (one for each in offer.surveyed for one in _taken(offer, *each))
    return sheet(offer.title("quantities"), [*layered(offer), *taken])


def layered(offer: Offer) -> Iterator[Block]:
    """Yield the roof of today and the metal retrofit in section, and how heat passes them."""
    yield from drawn_in_layers(offer)
    today = measures_table.u_of_today(offer.case, offer.reply["units"])
    yield text(measures_table.u_values(offer.reply, today))


def drawn_in_layers(offer: Offer) -> Iterator[Block]:
    """Yield the roof of today and the metal retrofit in section, thicknesses to one scale."""
    case, reply = offer.case, offer.reply
    drawn = drawings(case, reply["units"], measures_table.retrofit_shown(reply))
    yield heading("The roof in layers")
    if max(one.sheet_foot - one.sheet_top for one in drawn) <= TALLEST:
        yield {"kind": "layers", "drawings": [_drawn(one) for one in drawn]}
        broken = ", the cavity is shortened at the breaks" if any(d.broken for d in drawn) else ""
        yield small(f"Thicknesses to one scale; sheets are drawn as a line{broken}.")
    else:
        for one in drawn:
            yield heading(one.title, 3)
            yield table([("Layer, from outside", 2.0, "left"), ("Thickness, R-value", 1.0, "left")],
                        ((band.name, band.facts) for band in one.bands))  # fmt: skip


def _drawn(one: Drawing) -> Block:
    layers = "; ".join(f"{band.name}, {band.facts}" for band in one.bands)
    return {**asdict(one), "top": one.top, "sheet_top": one.sheet_top, "sheet_foot": one.sheet_foot,
            "reading": f"{one.title}, from outside: {layers}."}  # fmt: skip


def _taken(offer: Offer, one: Takeoff, choice: MetalRetrofit, result: Reply) -> Iterator[Block]:
    yield heading(one.name)
    yield text(one.reading)
    first, *others = one.sections
    yield figure(first)
    yield figure(one.plan, plan=True)
    yield from map(figure, others)
    yield heading("Bill of quantities", 3)
    taken = result["quantities"]
    yield from bill(taken["first_cost"], offer.reply["units"], to_the_letter(offer, result))
    yield bullets([*_crews(taken["first_cost"], taken["labour"]), *taken["price_notes"],
                   *_bought_as_purlin(taken["members"], offer.reply["units"]),
                   purlin_stock(choice, taken["members"], offer.reply["units"])])  # fmt: skip
    yield heading("Sizes, pieces and loads", 3)
    yield sized(one)
    for title, rows in one.tables:
        if len(rows.columns) > len(NARROW):
            yield from listed(one, title)
    yield bullets(flags_of(result, offer.reply["units"]))


def sized(one: Takeoff, but: str = "") -> Block:
    """Return sizes, pieces and loads, all but one: tables of two columns, beside each other."""
    narrow = [rows for title, rows in one.tables
              if len(rows.columns) == len(NARROW) and title != but]  # fmt: skip
    tall = [0, *accumulate(len(rows.rows) + HEAD for rows in narrow)]
    half = next(n for n, above in enumerate(tall) if 2 * above + HEAD >= tall[-1])
    return beside(*([as_table(rows, NARROW) for rows in some]
                    for some in (narrow[:half], narrow[half:])))  # fmt: skip


def listed(one: Takeoff, title: str) -> Iterator[Block]:
    """Yield a list of the survey under its title, where it has one."""
    rows = dict(one.tables).get(title)
    if rows:
        yield heading(title, 3)
        yield _wide_table(rows)


def _wide_table(rows: Table) -> Block:
    """Return a table of the survey's figures, a name and more than one figure a row."""
    columns: list[Column] = [
        (head, _share(head, cells), "left" if not place or any(" " in one for one in cells)
         else "right")
        for place, (head, *cells) in enumerate(zip(rows.columns, *rows.rows, strict=True))
    ]  # fmt: skip
    return table(columns, rows.rows)


def _share(head: str, cells: Sequence[str]) -> float:
    """Return the width that a column asks for: its longest word, and its head in a few lines."""
    words = (word for text in (head, *cells) for word in text.split())
    return MARGINS + max(*map(len, words), len(head) / 3, max(map(len, cells)) / 1.3, 6)


def bill(cost: Reply, system: units.System, after: Sequence[Sequence[str]] = ()) -> Iterator[Block]:
    """Yield the bill of quantities, and once below it where its prices come from."""
    lines = [
        (line["name"], *priced(line, system), fmt.shown(line["cost"], "money"), line["basis"])
        for line in cost["lines"] if line["cost"]
    ]  # fmt: skip
    columns: list[Column] = [
        ("Item", 2.6, "left"), ("Quantity", 1.0, "right"), ("Unit price", 1.0, "right"),
        ("Cost", 0.9, "right"), ("Price is", 0.9, "left"),
    ]  # fmt: skip
    total = ("Build-up of this plan", "", "", fmt.shown(cost["build_up"], "money"), "")
    yield table(columns, [*lines, total, *after])
    sources: dict[str, dict[str, None]] = {}
    for line in cost["lines"]:
        own = without_table(line["source"]).removeprefix("invented; ")
        sources.setdefault(line["basis"], {})[own] = None
    whence = ". ".join(f"{basis.capitalize()}: {'; '.join(own)}" for basis, own in sources.items())
    none = [line["name"] for line in cost["lines"] if not line["cost"]]
    nothing = f" Without a quantity here: {'; '.join(none)}." if none else ""
    yield small(f"Where prices come from. {whence}.{nothing}")


def to_the_letter(offer: Offer, result: Reply) -> list[Sequence[str]]:
    """Return rows from the build-up to what the letter has for laying the roof, if they meet."""
    cost, share = result["quantities"]["first_cost"], offer.covered(result)
    place = next(k for k, one in enumerate(offer.reply["alternatives"]) if one is result)
    letter = {row["key"]: share * row["alternatives"][place]["first_cost"]
              for row in offer.reply["scope"]}  # fmt: skip
    stone, held = letter["ballast"], result["quantities"]["services"]["ballast"]
    apart: list[Sequence[str]] = (
        [(STONE_APART, "", "", fmt.money(stone), "")] if stone and not held else []
    )
    if not cost["permit_apart"]:
        return apart
    rows = [(PERMIT, cost["permit_apart"])]
    if stone and held:
        rows.append((STONE, stone))
    laid = cost["build_up"] - math.fsum(less for _, less in rows)
    told = [(name, "", "", fmt.money(-less), "") for name, less in rows]
    meets = abs(laid - letter["covering"]) < 1
    return [*told, *([(LAID, "", "", fmt.money(laid), "")] if meets else []), *apart]


def _bought_as_purlin(members: Reply, system: units.System) -> Iterator[str]:
    """Yield what the bill counts as purlin, where that is more than purlins."""
    parts = {name: members[key] for key, name in AS_PURLIN.items() if members[key]}
    if len(parts) > 1:
        told = (f"{amount({'value': value, 'kind': 'length'}, system)} of {name}"
                for name, value in parts.items())  # fmt: skip
        yield f"The bill’s length of purlin is {', '.join(told)}."


def purlin_stock(choice: MetalRetrofit, members: Reply, system: units.System) -> str:
    """Say what the purlins are cut from, and how much more that is than the bill has."""
    framing = choice.framing
    assert framing is not None
    stock = units.from_core(framing.purlin_stock_m, "length", system)
    laps = "laps included" if members["purlin_laps"] else "no lap is counted"
    count, cut = members["purlin_sticks"], members["purlins"] + members["purlin_laps"]
    each, bought, used = (amount({"value": value, "kind": "length"}, system)
                          for value in (stock, count * stock, cut))  # fmt: skip
    return (
        f"The purlins are cut from {count:,} stock lengths of {each}, {bought} to buy. The bill "
        f"has the {used} that is used ({laps}); the off-cuts, "
        f"{count * stock / cut - 1:.0%} more, are in it only if the unit price entered holds them."
    )


def gutters(one: Takeoff, framing: Framing, system: units.System) -> Iterator[Block]:
    """Yield the gutters of a survey and the rule that sizes them, or that no rain is entered."""
    yield from listed(one, GUTTERS) if framing.other_work.rain_hour_m else [heading(GUTTERS, 3)]
    yield small(sized_by(framing.other_work.rain_hour_m, system))


def _crews(cost: Reply, labour: Sequence[Reply]) -> Iterator[str]:
    """What the build-up comes to with a quick, a usual and a slow crew, beside the bill's own."""
    told = (f"{fmt.shown(one['build_up'], 'money')} at {fmt.shown(one['hours'])} hours "
            f"({one['productivity']} productivity)" for one in labour)  # fmt: skip
    if labour:
        yield (
            f"The bill counts {fmt.shown(cost['labour'])} hours and comes to "
            f"{fmt.shown(cost['build_up'], 'money')}. For comparison only, with the usual hours "
            f"of a crew it would come to {'; '.join(told)}."
        )


def flags_of(result: Reply, system: units.System) -> Iterator[str]:
    """Yield what the survey of a retrofit flags, and how far its panels move."""
    taken = result["quantities"]
    if taken["movement"]:
        yield _moved(taken["movement"], system)
    for flag in taken["flags"]:
        yield f"{flag['message']} ({flag['basis']}: {flag['source']})"


def _moved(movement: Reply, system: units.System) -> str:
    """Movement against the travel of a clip, in figures; a judgement only where it warns."""
    travel = movement["clip_travel"]
    moved, entered = (amount({"value": one or 0.0, "kind": "thickness"}, system)
                      for one in (movement["movement"], travel))  # fmt: skip
    told = f"Panels move {moved} at their free end between their coldest and hottest hour"
    if travel is None:
        return f"{told}; no travel of the clip is entered."
    warning = "" if movement["verdict"] == FITS else f" {movement['verdict']}"
    return f"{told}; {entered} is entered as the travel of a clip.{warning}"


def figure(svg: str, *, plan: bool = False, floats: bool = False) -> Block:
    """Return a drawing of the page for paper: in the paper's font, read by its own description."""
    said = [node.text or "" for node in Xml.fromstring(svg) if str(node.tag).endswith("}desc")]
    return drawing(svg.replace("sans-serif", FONT, 1), said[0] if said else "Drawing", wide=plan,
                   floats=floats)  # fmt: skip
