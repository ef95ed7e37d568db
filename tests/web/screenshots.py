"""The README's pictures of the page: `python -m tests.web.screenshots outputs/readme`."""

from __future__ import annotations

import shutil
import sys
import tempfile
from pathlib import Path

from tests.cli.commands import marker
from tests.web.browsing import browser, served, tab

DRESS = Path(__file__).parents[2] / "pieces" / "choir-dress"
SECONDS = 10
WIDTH = 1240


def main(folder: Path) -> None:
    """Write page-layout.png and page-pattern.png: the choir dress laid, and two edges chosen."""
    with tempfile.TemporaryDirectory() as name:
        jobs = Path(name)
        shutil.copytree(DRESS, jobs / "choir-dress")
        job, out = jobs / "choir-dress" / "job.toml", jobs / "outputs" / "choir-dress"
        done = marker("lay", job, "--out", out, "--seconds", SECONDS, "--quiet")
        assert done.exit_code == 0, done.output
        with served(jobs) as server, browser() as opened, tab(opened, server, WIDTH) as at:
            page = at.open(server.job("choir dress"), "layout")
            page.locator('[data-piece="2"]').focus()
            page.keyboard.press("p")
            page.locator(".piece.pinned").wait_for()
            page.screenshot(path=folder / "page-layout.png")
            page = at.open(server.job("choir dress"), "pattern")
            for edge in ("bodice front.side", "bodice back.side"):
                page.locator(f'[data-edge="{edge}"]').focus()
                page.keyboard.press("Enter")
            page.evaluate("() => window.scrollTo(0, 0)")
            page.screenshot(path=folder / "page-pattern.png")


if __name__ == "__main__":
    main(Path(sys.argv[1]))
