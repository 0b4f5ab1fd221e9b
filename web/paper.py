"""The proposal: laid out for paper, and printed to a PDF by a Chromium browser."""

from __future__ import annotations

import datetime
import os
import shutil
import subprocess
import tempfile
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from pathlib import Path

from flask import Flask, render_template, url_for

from web.answer import Answer, answer
from web.charts import Figure, svg
from web.charts.jobs import Job, jobs
from web.form import Document

BROWSERS = (
    "chromium", "chromium-browser", "google-chrome", "google-chrome-stable", "chrome",
    "microsoft-edge",
)  # fmt: skip
FLAGS = (
    "--headless", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-sync",
    "--disable-background-networking", "--disable-component-update", "--no-pdf-header-footer",
    "--generate-pdf-document-outline",
)  # fmt: skip
STYLE = "proposal.css"
# How closely a proposal is set up to which size [letters], by trial on paper.
DENSITIES = ((13_500, ""), (17_000, "dense"), (10**9, "denser"))
# The charts on paper and their heights [px].
CHARTS = (
    ("payback", 226), ("cooling-electricity", 132), ("gas", 132), ("heating-electricity", 132),
    ("heat-flow", 132), ("surface", 132),
)  # fmt: skip
TIME_LIMIT_S = 60


class PrintError(RuntimeError):
    """No browser that prints, or one that failed."""


def html(answered: Answer, system: str, asset: Callable[[str], str] | None = None) -> str:
    """Return the proposal as a page.

    Parameters
    ----------
    answered : Answer
    system : "ip" or "si"
        Letter paper for the first, A4 for the second.
    asset : callable, optional
        Returns the address of a file of the page.
    """
    figures: dict[str, Figure] = {figure.key: figure for figure in answered.figures}
    return render_template(
        "proposal.html",
        answer=answered,
        figures=figures,
        pictures={key: svg.draw(figures[key], high) for key, high in CHARTS if key in figures},
        programme=_programme(answered),
        rests=answered.rests,
        density=density(answered),
        paper="letter" if system == "ip" else "a4",
        today=datetime.date.today(),
        asset=asset or (lambda name: url_for("pages.static", filename=name)),
    )


@dataclass(frozen=True)
class Work:
    """The same job in one year or several."""

    years: tuple[int, ...]
    what: str
    why: str
    cost: float


def density(answered: Answer) -> str:
    """Return how closely the proposal is set, by what it holds, so that four pages are enough."""
    letters = sum(
        len(one.source) + 20 + sum(len(item.label + item.value) + 3 for item in one.items)
        for one in answered.rests
    )
    works = sum(len(done) for _, done in _programme(answered))
    size = letters + 250 * works + sum(map(len, answered.reply["cautions"]))
    return next(word for most, word in DENSITIES if size <= most)


def _programme(answered: Answer) -> list[tuple[str, list[Work]]]:
    return [(one["name"], repeated(jobs(one))) for one in answered.reply["alternatives"]]


def repeated(done: Iterable[Job]) -> list[Work]:
    """Return jobs with those that repeat at the same cost on one line, by first year.

    Examples
    --------
    >>> service = [Job(year, ("Sealant serviced",), "due", 9600.0) for year in (15, 30)]
    >>> [(work.years, work.what) for work in repeated(service)]
    [((15, 30), 'Sealant serviced')]
    """
    years: dict[tuple[str, str, float], list[int]] = {}
    for job in done:
        years.setdefault((job.what, job.why, job.cost), []).append(job.year)
    return [Work(tuple(when), *key) for key, when in years.items()]


def print_pdf(document: Document, out: Path, browser: str | None = None) -> None:
    """Write the proposal for a case document as a tagged PDF.

    Raises
    ------
    api.problems.Problem
        With the faults of the document.
    PrintError
        Where no browser is found, or it fails.
    """
    from web import create_app  # noqa: PLC0415 - the application holds this module's page

    program = found(browser)
    with tempfile.TemporaryDirectory(prefix="roof-lcc-") as folder:
        sheet = Path(folder) / "proposal.html"
        sheet.write_text(_standing_alone(create_app(), document), encoding="utf-8")
        shutil.copy(Path(__file__).parent / "static" / STYLE, folder)
        _run(program, sheet, Path(folder) / "proposal.pdf")
        shutil.copy(Path(folder) / "proposal.pdf", out)


def _standing_alone(app: Flask, document: Document) -> str:
    """The page with its style beside it, so that no server is needed to print it."""
    with app.test_request_context():
        answered = answer(document, lambda function, *given: function(*given), drawn=False)
        return html(answered, document["units"], lambda name: name)


def found(browser: str | None = None) -> str:
    """Return the path of a browser that prints.

    Raises
    ------
    PrintError
        With where it was looked for and what to do.
    """
    named = browser or os.environ.get("ROOF_LCC_CHROMIUM")
    for name in (named,) if named else BROWSERS:
        if path := shutil.which(name):
            return path
    looked = named or ", ".join(BROWSERS)
    raise PrintError(
        f"No browser to print with (looked for {looked}). Install Chromium, or name one with "
        "--chromium or ROOF_LCC_CHROMIUM; the page’s own “Proposal to print” needs neither."
    )


def _run(program: str, sheet: Path, pdf: Path) -> None:
    # Chromium refuses its own sandbox to the superuser; the sheet is ours and has no scripts.
    own = ("--no-sandbox",) if hasattr(os, "geteuid") and os.geteuid() == 0 else ()
    profile = f"--user-data-dir={sheet.parent / 'profile'}"
    command = [program, *FLAGS, *own, profile, f"--print-to-pdf={pdf}", sheet.as_uri()]
    try:
        done = subprocess.run(command, capture_output=True, timeout=TIME_LIMIT_S, check=False)
    except (OSError, subprocess.TimeoutExpired) as error:
        raise PrintError(f"{program} did not print: {error}") from None
    if done.returncode or not pdf.exists():
        last = done.stderr.decode(errors="replace").strip().splitlines()[-1:]
        raise PrintError(f"{program} did not print: {' '.join(last)}")
