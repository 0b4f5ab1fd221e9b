"""``roof-lcc serve``: the pages and the API on this machine."""

import os
from collections.abc import Mapping
from functools import partial
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import click
from flask import Flask

from api import metrics as counts
from api import server
from web import create_app


@click.command()
@click.option("--host", default=server.HOST, show_default=True, help="Address to listen on.")
@click.option("--port", default=server.PORT, show_default=True, type=click.IntRange(1, 65535),
              help="Port to listen on.")  # fmt: skip
@click.option("--workers", default=server.WORKERS, show_default=True, type=click.IntRange(1, 64),
              help="Processes.")  # fmt: skip
@click.option("--threads", default=server.THREADS, show_default=True, type=click.IntRange(1, 64),
              help="Requests that each process can have in hand.")  # fmt: skip
@click.option("--bind", metavar="HOST:PORT", help="Both in one, in place of --host and --port.")
@click.option("--trusted-proxies", default=0, show_default=True, type=click.IntRange(0, 10),
              help="Proxies in front whose X-Forwarded headers (address, scheme, host, prefix) "
              "are believed.")  # fmt: skip
@click.option("--jobs", type=click.Path(file_okay=False, path_type=Path), metavar="FOLDER",
              help="Where jobs are kept, to go on after a restart; without it they end with the "
              "service.")  # fmt: skip
@click.option("--metrics", is_flag=True, envvar="ROOF_LCC_METRICS",
              help=f"Count and time requests; {counts.ADDRESS} answers the counts.")  # fmt: skip
def serve(
    host: str,
    port: int,
    workers: int,
    threads: int,
    bind: str | None,
    trusted_proxies: int,
    jobs: Path | None,
    metrics: bool,
) -> None:
    """Serve the pages and the API."""
    if bind:
        host, port = _address(bind)
    if not server.is_free(host, port):
        message = f"{host}:{port} cannot be listened on; is it taken? Choose another with --port."
        raise click.ClickException(message)
    click.echo(f"Open http://{host}:{port}/ in a browser; Ctrl+C ends it.")
    with TemporaryDirectory(prefix="roof-lcc-", ignore_cleanup_errors=True) as own:
        # Folders for all processes: any of them is asked for a job or counts of another.
        folder = str(jobs or os.environ.get("ROOF_LCC_JOBS_FOLDER") or Path(own) / "jobs")
        settings = {"TRUSTED_PROXIES": trusted_proxies, "JOBS_FOLDER": folder, "METRICS": metrics}
        if metrics:
            os.environ[counts.FOLDER] = own
        server.run(partial(_made_ready, settings), host, port, workers, threads)


def _made_ready(settings: Mapping[str, Any]) -> Flask:
    """Make the application in a process of its own; it serves once its first page is there."""
    from web.pages import make_ready  # noqa: PLC0415 - the first process has no use for it

    app = create_app(settings)
    make_ready(app)
    return app


def _address(bind: str) -> tuple[str, int]:
    host, _, port = bind.rpartition(":")
    if not host or not port.isdecimal() or not 1 <= int(port) <= 65535:
        raise click.ClickException(f"--bind {bind}: type an address and a port, as 0.0.0.0:8000")
    return host.strip("[]"), int(port)
