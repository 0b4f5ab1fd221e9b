"""The cautions of a reply under their headings, for every output alike."""

from __future__ import annotations

from itertools import islice

from web.charts import Reply


def caution_groups(reply: Reply) -> list[tuple[str, list[str]]]:
    """Return the cautions of a comparison's reply under their headings.

    Examples
    --------
    >>> groups = [{"title": "Structure", "count": 1}, {"title": "The figures", "count": 1}]
    >>> caution_groups({"cautions": ["a", "b"], "caution_groups": groups})
    [('Structure', ['a']), ('The figures', ['b'])]
    """
    left = iter(reply["cautions"])
    return [(one["title"], list(islice(left, one["count"]))) for one in reply["caution_groups"]]
