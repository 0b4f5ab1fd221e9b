"""The pages of a case: the form, the answer beside it, the case file and the proposal."""

import io
import json
import re
from collections.abc import Collection, Iterable
from dataclasses import dataclass
from functools import cache, lru_cache
from typing import Any

import flask
from flask import Blueprint, Response, render_template, request, url_for
from werkzeug.datastructures import MultiDict

from api import service, strict_json
from api.portfolio.tables_out import XLSX
from api.problems import Problem
from api.requests import json_answer
from api.routes import calculated
from lcc import tables
from lcc.case.logo import MOST_BYTES, with_logo
from lcc.case.marked_defaults import without_defaults
from lcc.checks.run import KINDS
from lcc.stated_case import DRAWS
from web import answer as answers
from web import checks_page, downloads, file_kinds, new_roof, notices_page, sliders, weather_upload
from web.answer import Answer
from web.form import field_faults, form_fields, form_layout, kind_changes, usual_builds
from web.form.entries import Group
from web.form.form_fields import Document
from web.proposal.document import PDF, proposal_pdf

blueprint = Blueprint(
    "pages",
    __name__,
    static_folder="static",
    static_url_path="/page-assets",
    template_folder="templates",
)
MOST_PARTS = 5000
FORMS = {False: "entries.html", True: "questions.html"}
# Rates below are more likely not typed in percent.
SMALL_RATES = {("economics", "discount_rate"): ("discount rate", 0.002),
               ("economics", "financing", "rate"): ("interest rate", 0.002),
               ("economics", "tax", "rate"): ("income tax rate", 0.01)}  # fmt: skip
WEATHER = "site.weather.text"  # the entry that holds a weather file
FEW_DRAWS = 400  # while a slider moves


@dataclass(frozen=True)
class Shown:
    """A case as the page shows it: what was entered, the answer or the problem with it."""

    document: Document
    answer: Answer | None = None
    problem: Problem | None = None
    complete: bool = True


def asset(name: str) -> str:
    """Return the address of a file that the page needs."""
    return url_for("pages.static", filename=name)


def demo() -> Document:
    """Return the demo case's document."""
    return with_draws(tables.read_json("demo/case.json"))


def with_draws(document: Document) -> Document:
    """Return a case document that asks for random draws, unless it says how many itself."""
    given, origins = document.get("uncertainty", {}), document.get("origins", {})
    if not isinstance(given, dict) or not isinstance(origins, dict) or "draws" in given:
        return document
    origins = {**origins, "/uncertainty/draws": "common practice"}
    return {**document, "uncertainty": {**given, "draws": DRAWS}, "origins": origins}


def shown(
    document: Document,
    asked: str = "compare",
    *,
    drawn: bool = True,
    seen: Collection[str] | None = None,
) -> Shown:
    """Return what the page shows after an action on a case document."""
    what, _, rest = asked.partition(":")
    try:
        if what == "units":
            document = answers.in_units(document, "si" if rest == "si" else "ip")
        elif what in ("add", "remove"):
            document = form_fields.changed(document, asked)
        elif what == "layers":
            document = usual_builds.laid_out(document, rest)
        return Shown(document, answers.answer(document, calculated, drawn=drawn, seen=seen))
    except Problem as problem:
        waits = asking() and what != "compare" and bool(new_roof.waiting(problem))
        if waits and what == "units":
            document = {**document, "units": rest}
        whole = what not in ("add", "remove") and not waits
        if asking():
            problem = new_roof.at_entries(problem)
        return Shown(document, problem=problem, complete=whole)


def told_by(view: Shown) -> dict[str, str]:
    """Return what is wrong with a case, by dotted path."""
    names = new_roof.NAMED if asking() else {}
    found = field_faults.by_path(view.problem, view.document, names) if view.problem else {}
    if WEATHER in found and "refused" in flask.g:
        found.pop("site.weather.name", None)
        found[WEATHER] = flask.g.refused
    return found


def summarised(
    view: Shown, groups: tuple[Group, ...], asked: Iterable[new_roof.Question] = ()
) -> field_faults.Summary | None:
    """Return the list of faults, but for a part just added that waits for its figures."""
    if view.problem is None or not view.complete:
        return None
    boxes = [entry for one in asked for entry in (*one.entries, *one.further)]
    return field_faults.summary(view.problem, told_by(view), groups, boxes)


def entries(view: Shown) -> dict[str, Any]:
    """Return what the form's template needs."""
    told = told_by(view) if view.complete else {}
    resolved = answers.resolved(view.answer) if view.answer else {}
    scope = request.form.get("scope", "")
    asked = tuple(new_roof.questions(view.document, told, resolved, scope)) if asking() else ()
    moving = action() == "move"  # only what moves is made anew
    groups = () if moving else form_layout.groups(view.document, told, resolved, opened())
    return {
        "document": view.document,
        "shown_document": json.dumps(
            weather_upload.without_text(view.document), separators=(",", ":")
        ),
        "groups": groups,
        "opened": opened(),
        "builds": usual_builds.choices(),
        "build": usual_builds.matching(view.document),
        "kinds": form_layout.KIND_NAMES,
        "sliders": sliders.sliders(view.document, resolved, view.answer) if view.answer else (),
        "seen": view.answer.seen if view.answer else None,
        "summary": summarised(view, groups, asked),
        "asked": asked,
        "asked_kinds": new_roof.KINDS,
        "moved": new_roof.moved(view.document, resolved) if asked else (),
        "chosen_build": request.form.get("build", ""),
        "notices": said(),
        "was": kind_changes.chosen(one for group in groups for one in group.all_entries()),
        "waiting": new_roof.waiting(view.problem) if asking() else "",
    }


def page(view: Shown, origin: str) -> Response:
    """Return the page of a case; 422 where it cannot be answered as entered."""
    owner = "owner" if request.values.get("view") == "owner" else ""
    changed = action().partition(":")[0] in ("units", "add", "remove", "layers")
    # The demo comes light: a live page asks for the rest at once, a link shows it too.
    light = request.endpoint == "pages.case" and "all" not in request.args
    opened_panel = changed or (asking() and not view.answer)
    shown_as = {"origin": origin, "view": owner, "opened_panel": opened_panel, "light": light}
    html = render_template("case.html", answer=view.answer, **shown_as, **entries(view))
    status = 422 if view.problem and view.complete else 200
    return Response(html, status, mimetype="text/html")


def asking() -> bool:
    """Whether the page asks the questions of a new roof, and not for every entry."""
    new = "new" in request.form or request.endpoint == "pages.new"
    what, _, path = action().partition(":")
    return new and what != "all" and (what != "add" or path.startswith("economics."))


def said() -> list[str]:
    """Return what the page changed by itself, or refused, to be said."""
    refused = flask.g.get("refused")
    return [*([refused] if refused else []), *flask.g.get("cleared", [])]


def action() -> str:
    """Return what the button that was pressed asks for."""
    pressed = request.form.get("do", "compare")
    return f"layers:{request.form.get('build', '')}" if pressed == "layers" else pressed


def opened() -> set[str]:
    """Return the parts of the form that were opened, the one that a button just changed too."""
    what, _, path = action().partition(":")
    last = path.rpartition(".")[0] if what == "remove" else path
    return {*request.form.getlist("opened"), last}


def entered() -> Document:
    """Return the case document of the form that was sent."""
    request.max_form_parts = MOST_PARTS
    data: MultiDict[str, str] = request.form
    document = form_fields.document(data)
    before = {path: str(one) for path, one in form_fields.as_sent(data.get("was", "")).items()}
    document, flask.g.cleared = kind_changes.cleared(document, before, data)
    document = form_fields.with_origins(document, document.get("origins", {}))
    if "new" in request.form:
        build, scope = (request.form.get(one, "") for one in ("build", "scope"))
        document = with_draws(new_roof.completed(document, build, scope))
    for path, (name, least) in SMALL_RATES.items():
        rate = form_fields.at(document, path)
        if isinstance(rate, float) and 0 < rate < least:
            told = f"The {name} is read as {100 * rate:g}%, not {rate * 1e4:g}%."
            flask.g.cleared.append(told)
    upload = request.files.get(f"{WEATHER}.file")
    if upload and upload.filename:
        with upload.stream:
            content = upload.read()
        if not file_kinds.is_text(content):
            flask.g.refused = (
                f"“{upload.filename}” is {file_kinds.kind_of(content)}, not a weather file. "
                "Choose an EPW, TMY3 or TMY2 file."
            )
            return document
        text = content.decode("utf-8", errors="replace")
        document, zone = weather_upload.into(document, upload.filename, text)
        town, _ = weather_upload.told_by(text)
        flask.g.cleared.append(
            f"The weather is now that of {town or 'the file'}; its climate zone is taken as "
            f"{zone or 'unknown'}. Change it under “Climate zone” if the building’s is another."
        )
    picture = request.files.get("proposal.logo.file")
    if picture and picture.filename:
        with picture.stream:
            document = with_logo(document, picture.read(MOST_BYTES + 1))
    return document


@blueprint.get("/")
def case() -> Response:
    """Show the demo case, its longest tables only if they are asked for."""
    view = request.args.get("view", "")
    try:
        html = _demo_page(request.script_root, view == "owner", "all" in request.args)
    except Problem as problem:
        return page(Shown(demo(), problem=problem), "demo")
    return Response(html, mimetype="text/html")


@lru_cache(maxsize=8)
def _demo_page(root: str, owner: bool, whole: bool) -> str:
    """Return the demo's page, the same for all who ask for it so."""
    del root, owner, whole  # read from the request
    return page(Shown(demo(), demo_answer()), "demo").get_data(as_text=True)


@cache
def demo_answer() -> Answer:
    """Return the demo's answer, calculated and drawn once in this process."""
    return answers.answer(demo(), calculated, drawn=True)


def make_ready(app: flask.Flask) -> None:
    """Answer the demo before anyone asks, and once as a live page asks: neither then waits."""
    with app.test_request_context("/"):
        case()
    with app.test_request_context("/answer", method="POST", json=demo()):
        answer()


@blueprint.get("/new")
def new() -> Response:
    """Ask for a roof of one's own."""
    return page(Shown({"units": "ip"}, complete=False), "new")


@blueprint.post("/")
def compare() -> Response:
    """Show the case that was entered, after what its buttons ask."""
    return page(shown(entered(), action()), "entered")


@blueprint.get("/demo.json")
def demo_file() -> Response:
    """Return the demo case as a document."""
    return Response(json.dumps(demo()), mimetype="application/json")


@blueprint.post("/figures.<any(csv, xlsx):form>")
def take_away(form: str) -> Response:
    """Return all figures of the case that was entered, as tables."""
    view = shown(entered(), drawn=False)
    if view.answer is None:
        return page(view, "entered")
    name = file_name(view.document).removesuffix(".json")
    headers = {"Content-Disposition": f'attachment; filename="{name}.{form}"'}
    if form == "csv":
        return Response(downloads.csv(view.answer), mimetype="text/csv", headers=headers)
    return Response(downloads.xlsx(view.answer), mimetype=XLSX, headers=headers)


@blueprint.post("/answer")
def answer() -> Response:
    """Return the answer to the form, or to a case document, in parts that a live page puts in."""
    whole = request.is_json
    document = _document(request.get_data()) if whole else entered()
    asked = "compare" if whole else action()
    moving = asked == "move"
    seen = request.form.getlist("seen") if moving else None
    given = document.get("uncertainty")
    few = {"uncertainty": {**given, "draws": FEW_DRAWS}} if isinstance(given, dict) else {}
    view = shown({**document, **few} if moving else document, asked, drawn=False, seen=seen)
    notice = said()
    grows = whole or bool(notice) or "light" in request.form or (asking() and asked == "change")
    form_wanted = grows or asked not in ("move", "settle", "change")
    told = told_by(view)
    context = {"answer": view.answer, **entries(view)}
    parts: dict[str, Any] = {
        "ok": view.answer is not None,
        "moving": moving,
        "document": weather_upload.without_text(document if moving else view.document),
        "notice": " ".join(notice),
        "was": context["was"],
        "form": render_template(FORMS[asking()], **context) if form_wanted else None,
        "faults": told if view.complete else {},
        "missing": list(told.values()),  # said of a part just added too, which is not marked yet
    }
    if view.answer or not view.complete:
        parts["html"] = render_template("answer.html", **{**context, "summary": None})
    if view.answer:
        parts |= {
            "headline": view.answer.headline,
            "charts": {
                figure.key: {"spec": figure.spec, "data": figure.data}
                for figure in view.answer.figures
            },
        }
    return json_answer(parts)


def _document(body: bytes) -> Document:
    wrong = (
        f"This is {file_kinds.kind_of(body)}, not a case file. Choose a file that “Save case "
        "file” made."
    )
    if not file_kinds.is_text(body):
        raise Problem("invalid-input", wrong)
    try:
        document = strict_json.loads(body)
    except Problem as problem:
        raise Problem("invalid-input", f"{wrong} ({problem.detail})") from problem
    if not isinstance(document, dict):
        raise Problem("invalid-input", wrong)
    stated = without_defaults(document)
    if stated is not document:
        service.load_case(document)  # refused where a figure marked as a default is another
    return with_draws(stated)


@blueprint.post("/open")
def open_case() -> Response:
    """Show the case of a file that was saved earlier."""
    upload = request.files.get("file")
    try:
        with upload.stream if upload else io.BytesIO() as stream:
            content = stream.read()
        if not content.strip():
            raise Problem(
                "invalid-input", "This file is empty. Choose a file that “Save case file” made."
            )
        document = _document(content)
    except Problem as problem:
        return page(Shown(demo(), problem=problem), "demo")
    return page(shown(document), "entered")


def file_name(document: Document) -> str:
    """Return a file name for a case: its name in plain letters.

    Examples
    --------
    >>> file_name({"name": "North wing & annex"}), file_name({"name": "\u2028"})
    ('north-wing-annex.json', 'case.json')
    """
    words = re.findall(r"[a-z0-9]+", str(document.get("name", "")).lower())
    return f"{'-'.join(words)[:60] or 'case'}.json"


@blueprint.post("/save")
def save() -> Response:
    """Return the case as a file, the same document that the API and the command line read."""
    view = shown(entered(), drawn=False)
    if view.problem:
        return page(view, "entered")
    text = json.dumps(view.document, indent=2, ensure_ascii=False, allow_nan=False) + "\n"
    headers = {"Content-Disposition": f'attachment; filename="{file_name(view.document)}"'}
    return Response(text, mimetype="application/json", headers=headers)


@blueprint.route("/proposal", methods=["GET", "POST"])
def proposal() -> Response:
    """Return the proposal for the case that was entered, as a PDF."""
    document = entered() if request.method == "POST" else demo()
    try:
        loaded = service.load_case(document)
        made = calculated(proposal_pdf, loaded.case, loaded.units)
    except Problem as problem:
        return page(Shown(document, problem=problem), "entered")
    name = file_name(document).replace(".json", ".pdf")
    headers = {"Content-Disposition": f'inline; filename="{name}"'}
    return Response(made, mimetype=PDF, headers=headers)


@blueprint.get("/checks")
def checks() -> Response:
    """Show every check against outside values."""
    live = request.args.get("live") == "yes"
    system = "si" if request.args.get("units") == "si" else "ip"
    evidence = calculated(checks_page.evidence, live, system)
    html = render_template("checks.html", evidence=evidence, kinds=KINDS)
    return Response(html, mimetype="text/html")


@blueprint.get("/notices")
def notices() -> str:
    """Show whose work is bundled, and under which licence."""
    return render_template(
        "notices.html", notices=notices_page.notices(), texts=notices_page.texts()
    )
