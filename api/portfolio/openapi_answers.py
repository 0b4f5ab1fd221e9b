"""The schemas of what portfolios answer: replies, faults of rows, and the events of a stream."""

from typing import Any

from api.openapi.parts import VERSIONS, listed, nullable, objects, ref
from lcc import units

_TEXT = {"type": "string"}
_WHOLE = {"type": "integer"}
_NUMBER = {"type": "number"}
_WORDS = {"type": "object", "additionalProperties": _TEXT}
_HEAD: dict[str, Any] = {
    **VERSIONS,
    "units": {**_TEXT, "enum": list(units.SYSTEMS)},
    "read_as": {**_TEXT, "description": "How the table was understood."},
    "rows": _WHOLE,
    "good": {**_WHOLE, "description": "Rows that can be computed."},
    "bad": {**_WHOLE, "description": "Rows that cannot; good and bad add up to rows."},
    "columns_passed_over": {**listed(_TEXT), "description": "Titles that nothing is read from."},
    "mapping_unused": {
        **listed(_TEXT),
        "description": "Words and places of the mapping that no row has; the first of them.",
    },
    "faults_total": _WHOLE,
    "fault_groups": listed(ref("FaultGroup")),
    "faults": {**listed(ref("RowFault")), "description": "The first of them."},
}
_TAIL: dict[str, Any] = {
    "computed": {**_WHOLE, "description": "Buildings with figures."},
    "refused": {**_WHOLE, "description": "Results that could not be computed, each with why."},
    "programme": ref("CapitalProgrammeIp"),
    "plan": nullable(ref("CapitalPlanIp")),
    "ranking": {
        **listed(ref("RankedRoof")),
        "description": "As `results`; 1 is the best by net savings per cost, or as `rank_by` says.",
    },
    "frontier": {**listed(ref("FrontierPoint")), "description": "What each budget can save."},
    "groups": listed(ref("GroupTotalIp")),
    "drivers": listed(ref("Driver")),
    "interpolated": {**_WHOLE, "description": "Roofs whose heat is interpolated over areas."},
    "cautions": listed(ref("PortfolioCaution")),
    "notes": {**listed(_TEXT), "description": "What all figures rest on."},
}
_DONE = {"done": {**_WHOLE, "description": "Buildings so far."}, "of": _WHOLE}


def _event(word: str, **members: Any) -> dict[str, Any]:
    return objects({"event": {**_TEXT, "enum": [word]}, **members})


EVENTS = ("StartEvent", "ResultEvent", "ProgressEvent", "PlanningEvent", "EndEvent", "ProblemEvent")
SCHEMAS: dict[str, Any] = {
    "RowFault": objects({
        "rule": {**_TEXT, "description": "What would be accepted."},
        "line": {**_WHOLE, "description": "Of the file; 0 for rows in JSON."},
        "record": {**_WHOLE, "description": "Which roof, from 1."},
        "column": _TEXT,
        "letter": {**_TEXT, "description": "Of the column in a spreadsheet."},
        "value": _TEXT,
        "text": {**_TEXT, "description": "All of it in a sentence."},
    }),
    "FaultValue": objects({"value": _TEXT, "count": _WHOLE}),
    "FaultGroup": objects({
        "column": _TEXT, "rule": _TEXT, "count": _WHOLE,
        "values": {**listed(ref("FaultValue")), "description": "The commonest."}, "text": _TEXT,
    }),
    "RankedRoof": objects({
        "building": {**_WHOLE, "description": "Row of the building, from 1."},
        "alternative": _TEXT, "rank": _WHOLE,
        "in_budget": {"type": ["string", "null"], "enum": ["yes", "no", None]},
        "planned_year": {"type": ["integer", "null"]},
    }),
    "FrontierPoint": objects({"budget": _NUMBER, "net_savings": _NUMBER}),
    "Driver": objects({
        "column": _TEXT, "net_savings_per_cost": _NUMBER, "net_savings": _NUMBER,
    }),
    "PortfolioCaution": objects({
        "text": _TEXT,
        "figures_of": {
            "type": ["string", "null"], "description": "Building whose figures the text has.",
        },
        "buildings": {**_WHOLE, "description": "How many it fits."},
    }),
    "PortfolioCheck": {
        **objects(_HEAD),
        "description": "What `show=check` answers: what is wrong, nothing computed.",
    },
    "PortfolioReply": objects({**_HEAD, "results": listed(ref("RankedIp")), **_TAIL}),
    "TableMapping": objects({
        "year": {**_WHOLE, "description": "From which ages are counted."},
        "sheet": {**_TEXT, "description": "Of a workbook; empty for the one found."},
        "columns": {**_WORDS, "description": "Title of the table: a column of a portfolio."},
        "values": {
            "type": "object", "additionalProperties": _WORDS,
            "description": "Column of a portfolio: word of the table: key, empty for unknown.",
        },
        "places": {**_WORDS, "description": "Place as the table writes it: key of a climate."},
        "defaults": {**_WORDS, "description": "Column: what is taken where the table is silent."},
    }),
    "MappingLine": objects({
        "part": {**_TEXT, "enum": ["column", "word", "place", "line", "default"]},
        "said": {**_TEXT, "description": "What the table says."},
        "means": {**_TEXT, "description": "What that means here."},
        "rows": {
            **_WHOLE,
            "description": "In how many rows (of places, the first 5,000); 0 for a column.",
        },
        "note": _TEXT,
    }),
    "MappingReply": {
        **objects({
            "read_as": _TEXT, "mapping": ref("TableMapping"), "report": listed(ref("MappingLine")),
        }),
        "description": "What `show=mapping` answers: what a table most likely means.",
    },
    "StartEvent": _event("start", **_HEAD),
    "ProgressEvent": _event("progress", **_DONE),
    "PlanningEvent": _event("planning", **_DONE),
    "EndEvent": _event("end", **_TAIL),
    "ProblemEvent": {
        "description": "Ends a stream that fails after its start.",
        "allOf": [ref("Problem"), _event("problem")],
    },
}  # fmt: skip


def result_event(outcome: dict[str, Any]) -> dict[str, Any]:
    """Return the schema of one result in a stream, from that of an outcome."""
    event = _event("result")
    return {
        **outcome,
        "required": [*event["required"], *outcome["required"]],
        "properties": event["properties"] | outcome["properties"],
    }
