"""The proposal: laid out for paper, and printed to a PDF by a Chromium browser."""

from __future__ import annotations

import datetime
import os
import shutil
import subprocess
import tempfile
from collections.abc import Callable
from pathlib import Path

from flask import Flask, render_template, url_for

from web.answer import Answer, answer
from web.charts import Figure, svg
from web.form.form_fields import Document
from web.on_paper import Sheet, sheet, size

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
ROOM = 37_000  # what four pages hold at the closest, as `size` counts
# How closely a proposal is set up to which size [letters], by trial on paper.
DENSITIES = ((22_900, ""), (28_700, "dense"), (ROOM, "denser"))
# The charts on paper and their heights [px].
CHARTS = (
    ("payback", 226), ("heat-flow", 132),
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
    printed = sheet(answered, ROOM)
    figures: dict[str, Figure] = {figure.key: figure for figure in printed.answer.figures}
    return render_template(
        "proposal.html",
        answer=printed.answer,
        sheet=printed,
        figures=figures,
        pictures={key: svg.draw(figures[key], high) for key, high in CHARTS if key in figures},
        density=density(printed),
        paper="letter" if system == "ip" else "a4",
        today=datetime.date.today(),
        asset=asset or (lambda name: url_for("pages.static", filename=name)),
    )


def density(printed: Sheet) -> str:
    """Return how closely the proposal is set, by what it holds, so that four pages are enough."""
    needed = size(printed)
    return next((word for most, word in DENSITIES if needed <= most), DENSITIES[-1][1])


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
