"""A real server and a real browser for tests of the page, and what every page must keep to."""

from __future__ import annotations

import json
import os
import shutil
import signal
import subprocess
import sys
import time
import urllib.error
import urllib.request
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from io import BytesIO
from pathlib import Path
from typing import Any

import pytest
from PIL import Image, ImageDraw

WAIT_SECONDS = 300
"""For anything that comes at last: the first search on a machine compiles for half a minute, and
tests may share its cores with much else."""

_NAMES = ("chromium", "chromium-browser", "google-chrome")


class Server:
    """`marker serve` on a folder of jobs."""

    def __init__(self, folder: Path, *options: str) -> None:
        self.folder = folder
        self.process = subprocess.Popen(
            [sys.executable, "-m", "marker", "serve", str(folder), "--no-browser", *options],
            stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, start_new_session=True,
        )  # fmt: skip
        assert self.process.stdout is not None
        self.entry = self.process.stdout.readline().strip()
        self.address, _, self.secret = self.entry.partition("/?key=")
        deadline = time.monotonic() + WAIT_SECONDS
        while time.monotonic() < deadline:
            try:
                self.get("/api/jobs")
                return
            except urllib.error.URLError:
                time.sleep(0.05)
        raise AssertionError("the server did not answer")

    @property
    def port(self) -> str:
        return self.address.rpartition(":")[2]

    def get(self, path: str) -> Any:
        return self._asked(urllib.request.Request(self.address + path))

    def post(self, path: str, **body: Any) -> Any:
        data = json.dumps(body).encode()
        return self._asked(urllib.request.Request(self.address + path, data, method="POST"))

    def job(self, name: str) -> str:
        """Id of the job of this name."""
        (found,) = [each["id"] for each in self.get("/api/jobs") if each["name"] == name]
        return str(found)

    def ended(self) -> str:
        """End it as Ctrl-C does; what it said besides the address."""
        os.killpg(self.process.pid, signal.SIGINT)  # all of them, as a terminal does
        _, said = self.process.communicate(timeout=WAIT_SECONDS)
        return said

    def killed(self) -> None:
        """End it as a power cut does."""
        self.process.kill()
        self.process.communicate(timeout=WAIT_SECONDS)

    def _asked(self, request: urllib.request.Request) -> Any:
        request.add_header("Authorization", f"Bearer {self.secret}")
        with urllib.request.urlopen(request, timeout=WAIT_SECONDS) as answer:
            return json.load(answer)


@contextmanager
def served(folder: Path, *options: str) -> Iterator[Server]:
    """A server that ends with the block, and must end well."""
    server = Server(folder, *options)
    try:
        yield server
    finally:
        if server.process.poll() is None:
            said = server.ended()
            assert "Traceback" not in said, said
            assert "The page is closed" in said


def chromium() -> str:
    """The browser's program; skips the test, with the reason, where there is none."""
    found = next(filter(None, map(shutil.which, _NAMES)), None)
    if found is None:
        pytest.skip(f"no browser on this machine: none of {', '.join(_NAMES)} is installed")
    return found


@contextmanager
def browser() -> Iterator[Any]:
    """A browser, without a window."""
    sync_api = pytest.importorskip("playwright.sync_api", reason="playwright is not installed")
    program = chromium()
    with sync_api.sync_playwright() as playwright:
        # a container has no user namespaces for the browser's own sandbox; only we are visited
        # and little shared memory
        args = ["--no-sandbox", "--disable-dev-shm-usage"] if os.geteuid() == 0 else []
        opened = playwright.chromium.launch(
            executable_path=program, args=args, timeout=WAIT_SECONDS * 1000
        )
        yield opened
        opened.close()


_LISTENING = """
window.heard = [];
document.addEventListener("DOMContentLoaded", () => {
  const line = document.getElementById("said"), noted = () => heard.push(line.textContent);
  if (line) new MutationObserver(noted).observe(line, { childList: true });
});
"""
"""Notes all that the page says, one after another: the same sentence may come again, or the next
one at once."""


class Tab:
    """A tab of the browser at a server's page."""

    def __init__(self, browser: Any, server: Server, width: int = 1400, **context: Any) -> None:
        self.server = server
        self._context = browser.new_context(viewport={"width": width, "height": 900}, **context)
        self.page: Any = self._context.new_page()
        self.page.set_default_timeout(WAIT_SECONDS * 1000)
        self._heard: list[str] = []
        self._forgiven: list[str] = []
        self.page.add_init_script(_LISTENING)
        self.page.on("console", self._console)
        self.page.on("pageerror", lambda error: self._heard.append(str(error)))
        self.page.goto(server.entry)

    def _console(self, message: Any) -> None:
        if message.type in {"error", "warning"}:
            self._heard.append(message.text)

    def open(self, job: str, part: str) -> Any:
        """The page, at a part of a job."""
        self.page.goto(f"{self.server.address}/#/{job}/{part}")
        self.page.wait_for_selector(f'#main[data-part="{part}"]')
        return self.page

    def said(self, text: str) -> None:
        """Wait for a sentence in the line that tells what happens, later than the one that was
        waited for before."""
        self.page.wait_for_function(
            "text => { const at = heard.findIndex((each) => each.includes(text));"
            "return at >= 0 && heard.splice(0, at + 1).length; }",
            arg=text,
        )

    def until(self, holds: Callable[[], bool]) -> None:
        """Wait until something holds outside of the browser."""
        deadline = time.monotonic() + WAIT_SECONDS
        while not holds():
            assert time.monotonic() < deadline
            self.page.wait_for_timeout(50)

    def laid(self, seconds: float = 1.0) -> None:
        """Have the job that is open laid."""
        self.page.get_by_label("Seconds", exact=True).fill(str(seconds))
        self.page.get_by_role("button", name="Lay", exact=True).click()
        self.said("Laid and checked")
        self.page.wait_for_function(
            "() => ![...document.querySelectorAll('button')].find("
            "(each) => each.textContent === 'Lay').disabled"
        )

    def forgive(self, fault: str) -> None:
        """Nothing that the console says with this in it is a fault of the page."""
        self._forgiven.append(fault)

    @property
    def faults(self) -> list[str]:
        """What it put on the console, and what it threw."""
        return [each for each in self._heard if not any(some in each for some in self._forgiven)]

    def offline(self, cut: bool) -> None:
        """Cut the connection, or join it again."""
        self._context.set_offline(cut)

    def close(self) -> None:
        self._context.close()


@contextmanager
def tab(browser: Any, server: Server, width: int = 1400, **context: Any) -> Iterator[Tab]:
    """A tab whose console must be empty in the end, but for what the test forgave."""
    opened = Tab(browser, server, width, **context)
    yield opened
    opened.close()
    assert opened.faults == [], opened.faults


def photo() -> bytes:
    """A table seen from above, four pixels a millimetre: a sheet of A4 and a piece 300 by 200."""
    picture = Image.new("L", (2600, 1500), 70)
    pen = ImageDraw.Draw(picture)
    pen.rectangle((80, 80, 80 + 840, 80 + 1188), fill=245)
    pen.rectangle((1160, 300, 1160 + 1200, 300 + 800), fill=235)
    content = BytesIO()
    picture.save(content, "JPEG", quality=92)
    return content.getvalue()
