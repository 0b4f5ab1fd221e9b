"""Log lines as one JSON object each: what happened, never what a client sent."""

import json
import logging
from datetime import UTC, datetime
from typing import Any


class Lines(logging.Formatter):
    """Writes a record as one line of JSON; a record whose message is a dict gives its members."""

    def format(self, record: logging.LogRecord) -> str:
        """Return the line."""
        moment = datetime.fromtimestamp(record.created, UTC)
        line: dict[str, Any] = {
            "time": moment.isoformat(timespec="milliseconds"),
            "level": record.levelname.lower(),
            "process": record.process,
        }
        if isinstance(record.msg, dict):
            return json.dumps(line | record.msg)
        return json.dumps(line | {"message": record.getMessage()})


# Request lines and failures, and gunicorn's own notices, on standard error.
CONFIGURATION: dict[str, Any] = {
    "version": 1,
    "disable_existing_loggers": False,
    "formatters": {"lines": {"()": Lines}},
    "handlers": {"lines": {"class": "logging.StreamHandler", "formatter": "lines"}},
    "root": {"level": "WARNING", "handlers": ["lines"]},
    "loggers": {
        "roof_lcc": {"level": "INFO", "handlers": ["lines"], "propagate": False},
        "gunicorn.error": {"level": "INFO", "handlers": ["lines"], "propagate": False},
        "gunicorn.access": {"level": "WARNING", "handlers": ["lines"], "propagate": False},
    },
}
