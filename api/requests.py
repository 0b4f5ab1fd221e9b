"""Reading requests: exact JSON and exact queries; every refusal is one problem."""

from __future__ import annotations

import gzip
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from functools import wraps
from typing import Annotated, Any

import flask
from werkzeug.exceptions import ClientDisconnected, HTTPException, RequestEntityTooLarge

from api import service, strict_json
from api.client_shares import client_of
from api.limits import time_limit
from api.problems import FULL, Problem
from lcc import units
from lcc.case.fields import Choice, Text, facts_of


@dataclass(frozen=True)
class TableQuery:
    """The query of a table."""

    units: Annotated[str, Choice("Units", units.SYSTEMS, help="Of the columns.")] = "si"


@dataclass(frozen=True)
class PlaceQuery:
    """What someone typed for a place."""

    query: Annotated[str, Text("Query", help="ZIP code, town or county, or latitude and longitude")]


@dataclass(frozen=True)
class NoQuery:
    """No query parameters at all."""


def _of_parameter(error: Mapping[str, Any]) -> dict[str, Any]:
    parameter = str(error["pointer"]).removeprefix("#/")
    return {"parameter": parameter, **{k: v for k, v in error.items() if k != "pointer"}}


def read_query(cls: type[Any], req: flask.Request) -> Any:
    """Return the dataclass of a query; one value given twice is refused, not half read."""
    lists = req.args.to_dict(flat=False)
    several = {name for name, facts in facts_of(cls).items() if facts.type == "choices"}
    repeated = sorted(name for name in lists.keys() - several if len(lists[name]) > 1)
    if repeated:
        raise Problem(
            "bad-request", f"Query parameter given twice: {repeated[0][:60]!a}; send it once."
        )
    given: dict[str, Any] = {name: values[0] for name, values in lists.items()}
    for name in several & lists.keys():  # repeated, or with commas between
        given[name] = [word.strip() for word in ",".join(lists[name]).split(",")]
    try:
        read = service.read(cls, given, "si")
    except Problem as problem:
        errors = [_of_parameter(error) for error in problem.errors]
        raise Problem(problem.name, problem.detail, errors) from None
    getattr(read, "check", bool)()
    return read


def sent_json(req: flask.Request) -> bytes:
    """Return the bytes of a body of JSON; refuse other media types."""
    if req.mimetype != "application/json":
        given = f"{req.mimetype[:60]!a}" if req.mimetype else "not given"
        detail = f"The media type of the body is {given}; send application/json."
        raise Problem("media-type", detail)
    return read_body(req)


_NOT_WHOLE = (
    "The body cannot be read to its end; are its chunks and its gzip coding whole? Send a body "
    "that is not compressed without Content-Encoding."
)


@contextmanager
def to_its_end() -> Iterator[None]:
    """Refuse a body that ends too early; readers of chunks and of gzip have their own errors."""
    try:
        yield
    except ClientDisconnected as error:  # as which the framework takes what is no gzip too
        raise Problem("bad-request", _NOT_WHOLE) from error
    except (HTTPException, Problem):
        raise
    except Exception as error:
        if isinstance(error, OSError) and error.errno in FULL:
            raise
        raise Problem("bad-request", _NOT_WHOLE) from error


def read_body(req: flask.Request, keep: bool = False) -> bytes:
    """Return the body; one without a declared length is cut at the limit, so it is measured.

    With `keep` it can be read again.
    """
    with to_its_end():
        data = req.get_data(cache=keep)
    limit = req.max_content_length
    if req.content_length is None and limit is not None and len(data) >= limit:
        raise RequestEntityTooLarge
    return data


def unpack(req: flask.Request) -> None:
    """Put the body of a gzip request in plain form, within the limits of a plain one."""
    coding = req.headers.get("Content-Encoding", "identity").strip().lower()
    if coding == "identity":
        return
    if coding != "gzip":
        detail = "The body has an encoding that is not known here; send it plain or as gzip."
        raise Problem("media-type", detail, headers={"Accept-Encoding": "gzip, identity"})
    req.environ["wsgi.input"] = gzip.GzipFile(fileobj=req.environ["wsgi.input"])
    req.environ["wsgi.input_terminated"] = True  # its length is not known
    del req.environ["HTTP_CONTENT_ENCODING"]
    req.environ.pop("CONTENT_LENGTH", None)


View = Callable[..., flask.Response]
Decorator = Callable[[View], View]


def body(cls: type[Any]) -> Decorator:
    """Return a decorator that gives a view its body: dataclass, units and document.

    The time limit begins when the body is there, and covers its reading and the view.
    """

    def decorate(view: View) -> View:
        @wraps(view)
        def reading(*arguments: Any, **named: Any) -> flask.Response:
            sent = sent_json(flask.request)
            with time_limit(flask.current_app.config["TIME_LIMIT_S"]):
                return view(*arguments, service.load(cls, strict_json.loads(sent)), **named)

        return reading

    return decorate


def accepts(*kinds: str) -> bool:
    """Tell whether the request at hand accepts an answer of one of some kinds."""
    accepted = flask.request.accept_mimetypes
    return not accepted or accepted.best_match(kinds) is not None


def json_answer(document: Any) -> flask.Response:
    """Return a document as a JSON response of the same bytes each time."""
    return flask.Response(service.to_json(document), mimetype="application/json")


def answers_as(*kinds: str) -> Decorator:
    """Return a decorator that refuses a request which accepts none of the kinds of the answer."""

    def decorate(view: View) -> View:
        @wraps(view)
        def asking(*arguments: Any, **named: Any) -> flask.Response:
            if not accepts(*kinds):
                detail = (
                    f"The answer here is {' or '.join(kinds)}; send that in Accept, or no Accept."
                )
                raise Problem("not-acceptable", detail)
            return view(*arguments, **named)

        return asking

    return decorate


def query(cls: type[Any]) -> Decorator:
    """Return a decorator that gives a view the dataclass of its query."""

    def decorate(view: View) -> View:
        @wraps(view)
        def reading(*arguments: Any, **named: Any) -> flask.Response:
            return view(*arguments, read_query(cls, flask.request), **named)

        return reading

    return decorate


def client_at_hand() -> str:
    """Return the client of the request at hand."""
    return client_of(flask.request.remote_addr)
