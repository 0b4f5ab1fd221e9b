"""The plan of a job kept beside its parts, so that every paper of the job shows the same plan."""

import json
from dataclasses import dataclass, fields
from pathlib import Path
from typing import Any

import pandas as pd

from api.portfolio.partitions import replace_file
from lcc.portfolio.plan_tables import Plan
from lcc.portfolio.ranking import Found, Search

_COLUMNS = 7  # raised where a plan's columns change; one kept with others is searched again


@dataclass(frozen=True)
class KeptPlan:
    """A file with the plan of a job; a search that is cut off by time may end otherwise again."""

    path: Path
    job: str

    @property
    def _mark(self) -> str:
        return f"{_COLUMNS} {self.job}"

    def get(self, search: Search) -> Found:
        """Return what the file holds, else what a search finds, which is then kept."""
        found = self.read()
        if found is None:
            found = search()
            self._write(*found)
        return found

    def read(self) -> Found | None:
        """Return what the file holds, None where it holds nothing of this job."""
        try:
            kept = json.loads(self.path.read_text(encoding="utf-8"))
        except (OSError, ValueError):
            return None
        if kept.pop("job") != self._mark:  # of another job, or of other columns than today's
            return None
        again = [int(one) for one in kept.pop("again")]
        values = {name: pd.DataFrame(one["data"], one["index"], one["columns"])
                  if isinstance(one, dict) else one for name, one in kept.items()}  # fmt: skip
        return Plan(**values | {"taken": tuple(values["taken"])}), again

    def _write(self, plan: Plan, again: list[int]) -> None:
        values: dict[str, Any] = {one.name: getattr(plan, one.name) for one in fields(plan)}
        plain = {
            name: one.to_dict("split") if isinstance(one, pd.DataFrame) else one
            for name, one in values.items()
        }
        replace_file(self.path, json.dumps({"job": self._mark, "again": again, **plain}))
