"""The pages and the command line over the API."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from flask import Flask

__all__ = ["create_app"]


def create_app(config: Mapping[str, Any] | None = None) -> Flask:
    """Return the service with its pages as one application.

    Parameters
    ----------
    config : mapping, optional
        As for `api.create_app`.
    """
    # Loaded here, since a second of imports would stand before every `roof-lcc --help`.
    from web.application import create_app as create  # noqa: PLC0415

    return create(config)
