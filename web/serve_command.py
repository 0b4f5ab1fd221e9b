"""``roof-lcc serve``: the pages and the API on this machine."""

from __future__ import annotations

import click

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
def serve(host: str, port: int, workers: int, threads: int) -> None:
    """Serve the pages and the API."""
    if not server.is_free(host, port):
        message = f"{host}:{port} cannot be listened on; is it taken? Choose another with --port."
        raise click.ClickException(message)
    click.echo(f"Open http://{host}:{port}/ in a browser; Ctrl+C ends it.")
    server.run(create_app, host, port, workers, threads)
