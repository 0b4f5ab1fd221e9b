"""A weather file of the user's put into a case document."""

from __future__ import annotations

from typing import Any

from lcc import tables
from web.form.form_fields import Document


def into(document: Document, name: str, text: str) -> tuple[Document, str]:
    """Return the document with a weather file, and the climate zone that it kept, if any.

    Notes
    -----
    Weather files name no climate zone, which sets the minimum of insulation. Where the case
    states none, that of the climate it had before stays, as an entry that can be changed.

    Examples
    --------
    >>> changed, zone = into({"site": {"climate": "tulsa-ok"}}, "year.epw", "...")
    >>> zone == changed["site"]["climate_zone"], sorted(changed["site"])
    (True, ['climate', 'climate_zone', 'weather'])
    """
    given = document.get("site")
    site: dict[str, Any] = dict(given) if isinstance(given, dict) else {}
    kept = ""
    if not site.get("climate_zone"):
        row = tables.rows("climates").get(str(site.get("climate")), {})
        kept = str(row.get("climate_zone") or "")
        site |= {"climate_zone": kept} if kept else {}
    return {**document, "site": {**site, "weather": {"name": name, "text": text}}}, kept


def without_text(document: Document) -> Document:
    """Return the document without the text of a weather file, which a live page holds itself."""
    site = document.get("site")
    given = site.get("weather") if isinstance(site, dict) else None
    if not isinstance(site, dict) or not isinstance(given, dict):
        return document
    named = {name: value for name, value in given.items() if name != "text"}
    return {**document, "site": {**site, "weather": named}}
