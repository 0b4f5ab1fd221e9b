"""Keep our figures of whole years for the page of the checks.

``python tests/bench/kept_checks.py > data/checks_kept.csv``, after a change of heat or weather.
"""

from __future__ import annotations

import csv
import sys

from lcc.checks.run import SLOW, Ours, rows, run_checks


def main() -> None:
    """Compute the rows of whole years and write them as ``data/checks_kept.csv`` has them."""
    slow = {row.id for row in rows() if row.subject in SLOW and row.covered}
    to = csv.writer(sys.stdout, lineterminator="\n")
    to.writerow(("id", *Ours._fields))
    for one in run_checks():
        if one.id in slow:
            found = (one.ours, one.low, one.high)
            to.writerow((one.id, *("" if each is None else f"{each:.10g}" for each in found)))


if __name__ == "__main__":
    main()
