"""A weather file of the user's put into a case document."""

import csv
from typing import Any

from lcc import tables
from lcc.errors import CaseError
from lcc.place import locate
from web.form.form_fields import Document


def into(document: Document, name: str, text: str) -> tuple[Document, str]:
    """Return the document with a weather file in place of its climate, and the zone it gets.

    Notes
    -----
    Weather files name no climate zone, which sets the minimum of insulation. It is that of the
    site's place, which stays; else that of the coordinates in the file's first line, else that of
    the climate before, as an entry that can be changed.

    Examples
    --------
    >>> head = "LOCATION,Laredo,TX,USA,TMY3,722520,27.57,-99.49,-6.0,158.0"
    >>> changed, zone = into({"site": {"climate": "tulsa-ok"}}, "year.epw", head)
    >>> zone, sorted(changed["site"])
    ('2B', ['climate_zone', 'weather'])
    """
    given = document.get("site")
    site: dict[str, Any] = dict(given) if isinstance(given, dict) else {}
    weather = {"name": name, "text": text}
    if here := _zone_of(site.get("place")):
        kept = {key: value for key, value in site.items() if key != "climate"}
        zone = str(site.get("climate_zone") or here)
        return {**document, "site": {**kept, "weather": weather}}, zone
    _, zone = told_by(text)
    row = tables.rows("climates").get(str(site.get("climate")), {})
    zone = zone or str(site.get("climate_zone") or row.get("climate_zone") or "")
    kept = {key: value for key, value in site.items() if key not in ("climate", "place")}
    new = {**kept, **({"climate_zone": zone} if zone else {}), "weather": weather}
    return {**document, "site": new}, zone


def _zone_of(place: Any) -> str:
    """Return the climate zone of a place of this country, empty for any other."""
    try:
        return locate(str(place)).climate_zone if place else ""
    except CaseError:
        return ""


def told_by(text: str) -> tuple[str, str]:
    """Return the town in the first line of a weather file, and the climate zone there.

    Examples
    --------
    >>> told_by('723170,"GREENSBORO PIEDMONT TRIAD INT",NC,-5.0,36.100,-79.950,273')
    ('Greensboro Piedmont Triad Int, NC', '4A')
    >>> told_by("no weather")
    ('', '')
    """
    cells = next(csv.reader([text.partition("\n")[0][:400]]), [])
    epw = cells[:1] == ["LOCATION"]
    places = (1, 2, 6, 7) if epw else (1, 2, 4, 5)
    if len(cells) <= places[-1]:
        return "", ""
    town, state, latitude, longitude = (cells[place].strip() for place in places)
    try:
        return f"{town.title()}, {state}", str(locate(f"{latitude}, {longitude}").climate_zone)
    except CaseError:
        return f"{town.title()}, {state}", ""


def without_text(document: Document) -> Document:
    """Return the document without the text of a weather file, which a live page holds itself."""
    site = document.get("site")
    given = site.get("weather") if isinstance(site, dict) else None
    if not isinstance(site, dict) or not isinstance(given, dict):
        return document
    named = {name: value for name, value in given.items() if name != "text"}
    return {**document, "site": {**site, "weather": named}}
