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

from marker.job import Reader
from marker.jobfile.reading import read_job
from marker.planning.events import (
    BetterLayoutFound,
    OnEvent,
    PlanningEvent,
    SearchProgressed,
    unheard,
)
from marker.planning.limits import SearchLimits
from marker.planning.one_cloth import lay_task
from marker.planning.tasks import LayingTask, tasks
from marker.web.process import Values
from marker.web.shown import layout_shown
from marker.web.tabletop import Arrangement
from marker.web.work import SearchTeller
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

    def pictures(self, job: str, seconds: float) -> float:
        """Pictures a second, from the first to the last, while it searches for so long."""
        request = urllib.request.Request(f"{self.address}{job}/events")
        request.add_header("Authorization", f"Bearer {self.secret}")
        seen: list[float] = []
        with urllib.request.urlopen(request, timeout=600) as events:
            self.ask(f"{job}/layout/lay", {"seconds": seconds})
            for line in events:
                if not line.startswith(b"data: "):
                    continue
                kind: str = json.loads(line[6:])["kind"]
                if kind in {"trying", "desk"}:
                    seen.append(time.perf_counter())
                if kind in {"ended", "failed"}:
                    break
        return (len(seen) - 1) / (seen[-1] - seen[0])


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
    parser.add_argument("--iterations", type=positive_count, default=6, help="(default 6)")
    parser.add_argument("--times", type=positive_count, default=3, help="searched (default 3)")
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
            rows.append(("pictures a second while it searches", f"{pictures:.1f}"))
        with _page(folder) as page:
            started = time.perf_counter()
            desk = page.ask(f"{job}/desk")
            rows.append(("a stored job opens, s", f"{time.perf_counter() - started:.2f}"))
            rows.append(("pieces", str(len(desk["pieces"]))))
            taken = _slides(page, job, desk, options.slides)
            rows.append(("drag, median, ms", f"{np.percentile(taken, 50):.0f}"))
            rows.append(("drag, 95 %, ms", f"{np.percentile(taken, 95):.0f}"))
        slower = _slowdown(folder / "job.toml", options.iterations, options.times)
        rows.append(("search slower for the pictures, %", f"{100 * slower:.1f}"))
    print(markdown(("", ""), rows))


def _slowdown(path: Path, iterations: int, times: int) -> float:
    """By what share the same iterations take longer while pictures are made, the best of some."""
    task = tasks(read_job(path))[0]
    limits = SearchLimits(iterations=iterations)

    def picture(found: BetterLayoutFound) -> dict[str, Any]:
        return layout_shown(Arrangement((found.checked(),)), task.cloth, Reader.SEWING)

    def alone() -> float:
        return _search_seconds(task, limits, unheard)

    def sent(event: Values) -> None:
        json.dumps(event)

    def shown() -> float:
        with SearchTeller(sent, picture) as teller:
            return _search_seconds(task, limits, teller)

    pairs = [(alone(), shown()) for _ in range(times)]
    return min(each[1] for each in pairs) / min(each[0] for each in pairs) - 1


def _search_seconds(task: LayingTask, limits: SearchLimits, on_event: OnEvent) -> float:
    """Processor seconds of a search, from when it begins to separate pieces; the search keeps all
    cores busy, so that what is taken from it takes as long."""
    began: list[float] = []

    def told(event: PlanningEvent) -> None:
        if not began and isinstance(event, SearchProgressed) and event.trying:
            began.append(time.process_time())
        on_event(event)

    lay_task(task, limits, told)
    return time.process_time() - began[0]


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
    key, by = "", np.zeros(2)
    for k in range(count):
        if k % 20 == 0:
            key, by = desk["pieces"][rng.integers(len(desk["pieces"]))]["key"], np.zeros(2)
        by += rng.normal(0.0, 30.0, 2)
        started = time.perf_counter()
        page.ask(f"{job}/layout/slide", {"piece": key, "by": by.tolist()})
        taken.append(1e3 * (time.perf_counter() - started))
    return taken[20:]


if __name__ == "__main__":
    main()
