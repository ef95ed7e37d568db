"""`marker serve`: the page in the browser, on this machine only."""

from __future__ import annotations

import socket
from contextlib import suppress
from pathlib import Path
from types import FrameType

import click

from marker.cli.shell import Number, exits_plainly, say

ADDRESS = "127.0.0.1"


@click.command()
@click.argument(
    "folder", default=".", type=click.Path(path_type=Path, exists=True, file_okay=False)
)
@click.option(
    "--port",
    type=Number(0, 65535),
    default=0,
    help="Port on this machine; a free one unless given.",
)
@click.option("--no-browser", is_flag=True, help="Print the address and open no browser.")
@click.option(
    "--lan",
    is_flag=True,
    help="Also for a phone or tablet in your own network: prints its address and a QR code. "
    "Whoever has the address can read and change the jobs, and what is sent is not encrypted.",
)
@exits_plainly
def serve(folder: Path, port: int, no_browser: bool, lan: bool) -> None:
    """Open the jobs of FOLDER on a page in the browser, for this machine alone unless --lan.

    The first line printed is the page's address with its secret. Ctrl-C ends it.
    """
    import webbrowser

    import uvicorn

    from marker.web.app import create_app
    from marker.web.security import new_secret

    own = _own_address() if lan else ADDRESS
    listening = _listening("0.0.0.0" if lan else ADDRESS, port)
    taken = listening.getsockname()[1]
    secret = new_secret()
    address = f"http://{ADDRESS}:{taken}/?key={secret}"
    say(address)
    if lan:
        _show_for_a_phone(f"http://{own}:{taken}/?key={secret}")
    whom = "your network" if lan else "this machine only"
    say(f"The jobs of {folder.resolve()}, for {whom}. Ctrl-C ends it.", err=True)
    hosts = [f"{name}:{taken}" for name in dict.fromkeys((ADDRESS, "localhost", own))]
    app = create_app(folder, hosts, secret)

    class Server(uvicorn.Server):
        def handle_exit(self, sig: int, frame: FrameType | None) -> None:
            app.state.end()
            super().handle_exit(sig, frame)

    config = uvicorn.Config(
        app, log_level="warning", access_log=False,
        server_header=False, timeout_graceful_shutdown=1,
    )  # fmt: skip
    if not no_browser:
        webbrowser.open(address)
    with suppress(KeyboardInterrupt):  # the way to end it
        Server(config).run(sockets=[listening])
    say("The page is closed. What was changed on it is in the files.", err=True)


def _listening(address: str, port: int) -> socket.socket:
    from marker.errors import CannotBeDone

    remedy = "Give another --port, or none."
    listening = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    listening.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        listening.bind((address, port))
        listening.listen()  # the browser may come before the server is ready
    except PermissionError as error:
        raise CannotBeDone(f"port {port} is kept for the system. {remedy}") from error
    except OSError as error:
        raise CannotBeDone(f"port {port} is in use. {remedy}") from error
    return listening


def _own_address() -> str:
    """This machine's address in its network; nothing is sent to find it."""
    from marker.errors import CannotBeDone

    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect(("192.0.2.1", 9))  # an address for documentation, RFC 5737
        except OSError as error:
            raise CannotBeDone("this machine is in no network. Leave --lan out.") from error
        address: str = probe.getsockname()[0]
    return address


def _show_for_a_phone(address: str) -> None:
    import io

    import segno

    picture = io.StringIO()
    segno.make(address, error="m").terminal(picture, compact=True)
    say(f"For a phone in your network: {address}", err=True)
    click.echo(picture.getvalue(), err=True)
