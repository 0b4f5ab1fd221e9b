"""Words that people use in tables of buildings, and the keys that they mean here."""

from __future__ import annotations

# Column -> key -> words, each as `vocabulary.fold` leaves it or a part of a longer entry.
VALUES: dict[str, dict[str, tuple[str, ...]]] = {
    "use": {
        "office": (
            "office", "business", "admin", "administration", "administrative", "bank", "courthouse",
            "court house", "city hall", "government", "public services", "data processing",
            "fire station", "police station", "station house", "professional",
        ),
        "school": (
            "school", "education", "educational", "k-12", "elementary", "middle school",
            "high school", "classroom", "college", "university", "day care", "academy", "training",
        ),
        "retail": ("retail", "store", "shop", "mercantile", "mall", "strip mall", "showroom"),
        "grocery": ("grocery", "supermarket", "food store", "convenience store"),
        "warehouse-heated": (
            "warehouse", "storage", "distribution", "distribution center", "logistics",
            "self-storage", "depot", "conditioned storage",
        ),
        "warehouse-unconditioned": (
            "unheated warehouse", "cold storage shell", "unconditioned", "shed", "barn", "hangar",
            "utility", "garage", "parking", "pole barn",
        ),
        "manufacturing": ("manufacturing", "industrial", "factory", "plant", "assembly plant"),
        "manufacturing-heated": ("workshop", "maintenance shop", "vehicle maintenance", "repair"),
        "worship": ("church", "worship", "religious", "chapel", "temple", "mosque", "synagogue"),
        "cold-store": (
            "cold store", "cold storage", "freezer", "cooler", "refrigerated", "chill store",
            "refrigerated warehouse",
        ),
        "assembly": (
            "assembly", "auditorium", "theater", "theatre", "community center", "convention",
            "meeting hall", "entertainment",
        ),
        "gymnasium": ("gym", "gymnasium", "fitness", "recreation", "arena", "field house"),
        "health-clinic": (
            "clinic", "medical office", "outpatient", "health care", "healthcare", "dental",
            "laboratory", "lab", "urgent care",
        ),
        "hospital-ward": ("hospital", "inpatient", "nursing", "nursing home", "ward"),
        "hotel": ("hotel", "motel", "dormitory", "lodging", "residence hall", "barracks",
                  "multifamily", "apartment", "apartments", "residential", "housing"),
        "restaurant": ("restaurant", "food service", "cafeteria", "dining", "kitchen"),
        "library": ("library", "museum", "archive", "gallery"),
    },
    "covering": {
        "built-up-gravel": (
            "bur", "built up", "built-up", "built up roof", "tar and gravel", "tar gravel", "t&g",
            "gravel", "bur gravel", "asphalt built up",
        ),
        "built-up-smooth": ("smooth built up", "smooth bur", "smooth asphalt"),
        "coal-tar-gravel": ("coal tar", "coal tar pitch", "pitch"),
        "modified-bitumen-cap": (
            "modified bitumen", "mod bit", "modbit", "mb", "sbs", "app", "cap sheet", "modified",
        ),
        "modified-bitumen-dark": ("torch down", "torch applied", "smooth modified bitumen"),
        "epdm-black": ("epdm", "rubber", "single ply rubber", "black epdm", "ballast free epdm"),
        "epdm-white": ("white epdm",),
        "epdm-ballasted": ("ballasted", "ballasted epdm", "stone ballast", "epdm ballasted"),
        "pvc-white": ("pvc", "vinyl", "kee"),
        "tpo-white": ("tpo", "single ply", "thermoplastic", "white single ply", "membrane"),
        "white-coating": ("coated", "coating", "acrylic", "silicone", "elastomeric"),
        "aluminium-coating": ("aluminum coating", "aluminium", "aluminized"),
    },
    "roof_type": {
        "steel-deck-perlite": ("perlite", "steel deck perlite"),
        "steel-deck-wood-fibre": ("wood fiber", "wood fibre", "fiberboard"),
        "steel-deck-polyiso": (
            "steel", "stl", "steel deck", "metal deck", "metal", "polyiso", "iso", "corrugated",
        ),
        "concrete-deck-bare": ("bare concrete",),
        "concrete-deck-perlite": (
            "concrete", "conc", "concrete deck", "structural concrete", "precast", "hollow core",
            "cast in place", "double tee", "poured concrete",
        ),
        "concrete-deck-polyiso": ("concrete polyiso", "insulated concrete"),
        "insulating-concrete": ("lightweight concrete", "lwc", "lightweight insulating"),
        "gypsum-deck-bare": ("gyp", "gypsum", "gypsum deck", "poured gypsum"),
        "cement-wood-fibre-bare": (
            "cement wood fiber", "cementitious wood fiber", "tectum", "cement fiber",
            "wood fiber cement",
        ),
        "plywood-deck-bare": ("plywood", "osb", "wood", "wood deck", "wood frame"),
        "plank-deck-wood-fibre": ("plank", "timber", "tongue and groove", "heavy timber"),
    },
    "heating": {
        "gas": ("natural gas", "gas furnace", "boiler", "gas boiler", "steam"),
        "resistance": ("electric", "electric resistance", "electric heat", "baseboard"),
        "heat-pump": ("heat pump", "hp", "ashp", "vrf"),
    },
    "condition": {
        "good": ("good", "excellent", "very good", "new", "a", "5", "satisfactory"),
        "fair": ("fair", "average", "moderate", "b", "c", "3"),
        "poor": ("poor", "bad", "d", "2", "marginal"),
        "failed": ("failed", "failing", "critical", "leaking", "f", "1", "unsatisfactory"),
    },
    "must": {
        "must-do": ("must do", "must", "mandatory", "required", "yes", "funded", "committed"),
        "must-not": (
            "must not", "do not touch", "leave alone", "hold", "exclude", "excluded", "demolish",
            "sell", "no work",
        ),
    },
}  # fmt: skip
# Words for a material of insulation -> the key of its board.
INSULATIONS = {
    **dict.fromkeys(("iso", "polyiso", "polyisocyanurate"), "polyiso-board"),
    **dict.fromkeys(("eps", "expanded polystyrene", "beadboard"), "eps-board"),
    **dict.fromkeys(("xps", "extruded polystyrene"), "xps-board"),
    "perlite": "perlite-board",
    **dict.fromkeys(("wood fiber", "wood fibre", "fiberboard"), "wood-fibre-board"),
}
# What people type for unknown.
UNKNOWN = frozenset(
    {
        "unknown", "unk", "na", "n/a", "n.a.", "tbd", "tba", "?", "??", "-", "--", "none", "null",
        "nil", "missing", "#n/a", "not known", "not available", "not applicable", "no data", "x",
    }
)  # fmt: skip
