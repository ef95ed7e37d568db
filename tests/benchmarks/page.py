"""How soon the page answers: `python -m tests.benchmarks.page --help`."""

from __future__ import annotations

import argparse
import json
import subprocess
import sys
import tempfile
import time
import urllib.request
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import numpy as np

from tests.benchmarks.folder import ROOT
from tests.benchmarks.options import positive_count
from tests.benchmarks.table import markdown

SHIRT = ROOT / "pieces" / "shirt" / "job.toml"
STATIC = ROOT / "marker" / "web" / "static"
_READY_SECONDS = 5.0


class _Page:
    """A page served for the time of a measurement."""

    def __init__(self, folder: Path) -> None:
        self.process = subprocess.Popen(
            [sys.executable, "-m", "marker", "serve", str(folder), "--no-browser"],
            stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True, cwd=ROOT,
        )  # fmt: skip
        assert self.process.stdout is not None
        self.address, _, self.secret = self.process.stdout.readline().strip().partition("/?key=")
        time.sleep(_READY_SECONDS)

    def ask(self, path: str, body: dict[str, Any] | None = None) -> Any:
        data = None if body is None else json.dumps(body).encode()
        request = urllib.request.Request(self.address + path, data)
        request.add_header("Authorization", f"Bearer {self.secret}")
        with urllib.request.urlopen(request, timeout=600) as answer:
            return json.load(answer)

    def pictures(self, job: str, seconds: float) -> int:
        """Pictures of layouts that come while it searches for so long."""
        request = urllib.request.Request(f"{self.address}{job}/events")
        request.add_header("Authorization", f"Bearer {self.secret}")
        seen: int = 0
        with urllib.request.urlopen(request, timeout=600) as events:
            self.ask(f"{job}/layout/lay", {"seconds": seconds})
            for line in events:
                if not line.startswith(b"data: "):
                    continue
                kind: str = json.loads(line[6:])["kind"]
                seen += int(kind == "desk")
                if kind in {"ended", "failed"}:
                    return seen
        return seen


@contextmanager
def _page(folder: Path) -> Iterator[_Page]:
    page = _Page(folder)
    try:
        yield page
    finally:
        page.process.terminate()
        page.process.wait(20)


def main(arguments: Sequence[str] | None = None) -> None:
    """Print the page's weight, and how soon it opens a stored job and answers drags."""
    parser = argparse.ArgumentParser("python -m tests.benchmarks.page", description=__doc__)
    parser.add_argument("--slides", type=positive_count, default=300, help="(default 300)")
    parser.add_argument("--seconds", type=float, default=20.0, help="of search (default 20)")
    options = parser.parse_args(arguments)
    weight = sum(path.stat().st_size for path in STATIC.iterdir() if path.is_file())
    rows: list[tuple[str, str]] = [("weight of the page, kB", f"{weight / 1000:.0f}")]
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        _shirts(folder)
        with _page(folder) as page:
            job = f"/api/jobs/{page.ask('/api/jobs')[0]['id']}"
            pictures = page.pictures(job, options.seconds)
            rows.append(
                ("pictures a second while it searches", f"{pictures / options.seconds:.1f}")
            )
        with _page(folder) as page:
            started = time.perf_counter()
            desk = page.ask(f"{job}/desk")
            rows.append(("a stored job opens, s", f"{time.perf_counter() - started:.2f}"))
            rows.append(("pieces", str(len(desk["pieces"]))))
            taken = _slides(page, job, desk, options.slides)
            rows.append(("drag, median, ms", f"{np.percentile(taken, 50):.0f}"))
            rows.append(("drag, 95 %, ms", f"{np.percentile(taken, 95):.0f}"))
    print(markdown(("", ""), rows))


def _shirts(folder: Path) -> None:
    """Eleven shirts in five sizes."""
    text = SHIRT.read_text(encoding="utf-8")
    head, _, rest = text.partition("[order]")
    _, _, rest = rest.partition("\n[")
    order = "\n".join(f'"{size}" = {count}' for size, count in _SIZES.items())
    text = f"{head}[order]\n{order}\n\n[{rest}"
    (folder / "job.toml").write_text(text, encoding="utf-8")
    for path in SHIRT.parent.iterdir():
        if path.suffix in {".svg", ".toml"} and path.name != "job.toml":
            (folder / path.name).write_bytes(path.read_bytes())


_SIZES = {"36": 2, "38": 3, "40": 3, "42": 2, "44": 1}


def _slides(page: _Page, job: str, desk: Any, count: int) -> list[float]:
    """Milliseconds of drags of random pieces, in steps of some centimetres as a hand makes them."""
    rng = np.random.default_rng(0)
    taken = []
    number, by = 1, np.zeros(2)
    for k in range(count):
        if k % 20 == 0:
            number, by = int(rng.integers(1, len(desk["pieces"]) + 1)), np.zeros(2)
        by += rng.normal(0.0, 30.0, 2)
        started = time.perf_counter()
        page.ask(f"{job}/layout/slide", {"number": number, "by": by.tolist()})
        taken.append(1e3 * (time.perf_counter() - started))
    return taken[20:]


if __name__ == "__main__":
    main()
