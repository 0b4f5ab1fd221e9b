"""Words that people use in tables of buildings, and the keys that they mean here."""

from lcc import tables

# Column -> key -> words, each as `vocabulary.fold` leaves it or a part of a longer entry.
VALUES: dict[str, dict[str, tuple[str, ...]]] = {}
for _row in tables.words("value_words"):
    VALUES.setdefault(_row["column"], {})[_row["key"]] = tuple(_row["words"].split(", "))
# Words for a material of insulation -> the key of its board.
INSULATIONS = {
    **dict.fromkeys(("iso", "polyiso", "polyisocyanurate", "pir"), "polyiso-board"),
    **dict.fromkeys(("eps", "expanded polystyrene", "beadboard"), "eps-board"),
    **dict.fromkeys(("xps", "extruded polystyrene"), "xps-board"),
    "perlite": "perlite-board",
    **dict.fromkeys(("wood fiber", "wood fibre", "fiberboard"), "wood-fibre-board"),
}
# What people type for unknown.
UNKNOWN = frozenset(
    {
        "unknown", "unk", "na", "n/a", "n.a.", "tbd", "tba", "?", "??", "-", "--", "none", "null",
        "nil", "missing", "#n/a", "not known", "not available", "not applicable", "no data",
    }
)  # fmt: skip
