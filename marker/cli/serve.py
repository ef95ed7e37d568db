"""`marker serve`: the page in the browser, on this machine only."""

from __future__ import annotations

from pathlib import Path

import click

from marker.cli.shell import exits_plainly

ADDRESS = "127.0.0.1"


@click.command()
@click.argument(
    "folder", default=".", type=click.Path(path_type=Path, exists=True, file_okay=False)
)
@click.option(
    "--port",
    type=click.IntRange(0, 65535),
    default=0,
    help="Port on this machine; a free one unless given.",
)
@click.option("--no-browser", is_flag=True, help="Print the address and open no browser.")
@exits_plainly
def serve(folder: Path, port: int, no_browser: bool) -> None:
    """Open the jobs of FOLDER on a page in the browser, for this machine alone.

    The first line printed is the page's address with its secret. Ctrl-C ends it.
    """
    import socket
    import webbrowser

    import uvicorn

    from marker.errors import CannotBeDone
    from marker.web.app import create_app
    from marker.web.security import new_secret

    listening = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    listening.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        listening.bind((ADDRESS, port))
    except OSError as error:
        raise CannotBeDone(f"port {port} is in use. Give another --port, or none.") from error
    taken = listening.getsockname()[1]
    secret = new_secret()
    address = f"http://{ADDRESS}:{taken}/?key={secret}"
    click.echo(address)
    click.echo(f"The jobs of {folder.resolve()}, for this machine only. Ctrl-C ends it.", err=True)
    hosts = [f"{ADDRESS}:{taken}", f"localhost:{taken}"]
    config = uvicorn.Config(
        create_app(folder, hosts, secret), log_level="warning", access_log=False,
        server_header=False, timeout_graceful_shutdown=1,
    )  # fmt: skip
    if not no_browser:
        webbrowser.open(address)
    uvicorn.Server(config).run(sockets=[listening])
