"""A short part of each campaign; and the second judge sees what is wrong."""

from __future__ import annotations

import json
import signal
import subprocess
import sys
import time
import tomllib
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from marker.exchange.layout_json import layout_text
from marker.exchange.layout_tables import LayoutTable
from marker.jobfile.reading import read_job
from marker.planning.events import unheard
from marker.planning.lay import lay
from marker.planning.limits import SearchLimits
from tests.benchmarks import mutants, random_jobs
from tests.benchmarks.kills import Kill, faults_of
from tests.benchmarks.second_judge import apart, faults_in, laps
from tests.cli.commands import TWO_PIECES, job_file, marker
from tests.shapes import CUP, SQUARE

JOB = """
name = "choir dress"
units = "mm"
order = { 38 = 2 }
size = "38"
cloth.jersey = { width = 900, selvage = 10, gap = 3, nap = "one way" }
[[piece]]
name = "front"
points = [[0, 0], [300, 0], [280, 200], [0, 220]]
cut = 1
pair = false
fold = [1, 2]
grain = 0
turns = [0, 180]
grain_tolerance = 0
[[piece]]
name = "sleeve"
points = [[0, 0], [200, 30], [180, 260], [90, 300], [10, 260]]
cut = 2
pair = true
grain = 90
turns = [0]
grain_tolerance = 2
"""
Layout = dict[str, Any]


@pytest.fixture(scope="module")
def layout(tmp_path_factory: pytest.TempPathFactory) -> Layout:
    """A sound layout as its file has it."""
    return laid(JOB, tmp_path_factory.mktemp("job"))


def laid(text: str, folder: Path) -> Layout:
    """The first layout of a job, as its file has it."""
    path = job_file(folder, text)
    job = read_job(path)
    (found,) = lay(job, SearchLimits(None, 0, 0, 1), unheard)
    text = layout_text(LayoutTable.of(found.checked, None), path.with_name("a.json"), path, job)
    return dict(json.loads(text))


def moved(each: Layout, by: float) -> None:
    each["outline_mm"] = [[x + by, y] for x, y in each["outline_mm"]]


def turned(each: Layout) -> None:
    centre = np.mean(each["outline_mm"], axis=0)
    each["outline_mm"] = (2 * centre - each["outline_mm"]).tolist()
    each["rotation_deg"] += 180


def mirrored(each: Layout) -> None:
    each["mirrored"] = not each["mirrored"]


SPOILED: dict[str, Callable[[list[Layout]], object]] = {
    "lie over each other": lambda placed: moved(placed[0], 4.0),
    "lie nearer than 3 mm": lambda placed: moved(max(placed, key=lowest), -1.0),
    "too few": lambda placed: placed.pop(),
    "is there 2 times": lambda placed: placed.append(placed[0]),
    "off its grain": lambda placed: placed[0].update(rotation_deg=7.0),
    "against the nap": lambda placed: turned(placed[0]),
    "another outline": lambda placed: mirrored(
        next(each for each in placed if each["piece"] == "sleeve")
    ),
    "off the cloth": lambda placed: moved(min(placed, key=lowest), -1.0),
    "are claimed": lambda placed: moved(max(placed, key=lowest), 5.0),
}


def lowest(each: Layout) -> float:
    return float(min(x for x, _ in each["outline_mm"]))


def test_the_second_judge_passes_what_is_sound(layout: Layout) -> None:
    assert list(faults_in(layout, tomllib.loads(JOB))) == []


@pytest.mark.parametrize("said", SPOILED)
def test_the_second_judge_sees_what_is_wrong(said: str, layout: Layout) -> None:
    spoiled = json.loads(json.dumps(layout))
    SPOILED[said](spoiled["placements"])
    assert said in " ".join(faults_in(spoiled, tomllib.loads(JOB)))


CREASED = "selvage = 0, tube = { crease = 12.5 }"
FOLDED = {
    "folded lengthwise": "selvage = 10",
    "double fold": "selvage = 10",
    "folded crosswise": "selvage = 10",
    "cut and turned": "selvage = 10",
    "tube": CREASED,
    "slit open": CREASED,
}
POCKET = """
[[piece]]
name = "pocket"
points = [[0, 0], [70, 0], [60, 70], [5, 90]]
cut = 1
pair = false
grain = 90
turns = [0, 180]
grain_tolerance = 0
"""


def folded_job(spread: str) -> str:
    """The job on cloth that lies like this, for one garment, with a pocket of no hand."""
    cloth = f'width = 1400, gap = 3, nap = "either way", spread = "{spread}", {FOLDED[spread]}'
    job = JOB.replace("38 = 2", "38 = 1").replace("turns = [0]", "turns = [0, 180]")
    before, after = job.split("cloth.jersey = {")
    return f"{before}cloth.jersey = {{ {cloth} }}{after.partition('}')[2]}{POCKET}"


@pytest.mark.parametrize("spread", FOLDED)
def test_the_second_judge_knows_folded_cloth(spread: str, tmp_path: Path) -> None:
    text = folded_job(spread)
    layout, job = laid(text, tmp_path), tomllib.loads(text)
    assert layout["cloth"]["spread"] == spread
    assert list(faults_in(layout, job)) == []
    for said, spoiled in ways_to_spoil(layout, spread):
        assert said in " ".join(faults_in(spoiled, job))


def ways_to_spoil(layout: Layout, spread: str) -> Iterator[tuple[str, Layout]]:
    """What each breaks, and the layout with one number changed."""
    if spread == "slit open":
        yield "on a crease", changed(layout, "sleeve", lambda each: put_at(each, 1400.0))
        return
    yield "has nothing like it below", changed(layout, "sleeve", lambda each: moved(each, 0.1))
    yield "across a fold", changed(layout, "sleeve", lambda each: put_on_fold(each, layout))
    if layout["folding"]["folds_along_mm"]:
        front = changed(layout, "front", lambda each: put_at(each, 5.0 + middle_y(each)))
        yield "across a fold", front
    if layout["spares"]:
        yield "has nothing like it below", layout | {"spares": []}
        (pocket,) = (each for each in layout["placements"] if each["piece"] == "pocket")
        yield "is spare above and below", layout | {"spares": [*layout["spares"], pocket]}
    two_plies = layout["folding"]["two_ply_mm"]
    short = layout["folding"] | {"two_ply_mm": two_plies - 20.0}
    yield "lies where two plies end", layout | {"folding": short}


def changed(layout: Layout, name: str, change: Callable[[Layout], object]) -> Layout:
    """A copy in which one piece of this name is changed."""
    spoiled: Layout = json.loads(json.dumps(layout))
    change(next(each for each in spoiled["placements"] if each["piece"] == name))
    return spoiled


def middle_y(each: Layout) -> float:
    ys = [float(y) for _, y in each["outline_mm"]]
    return (min(ys) + max(ys)) / 2


def put_at(each: Layout, y: float) -> None:
    by = y - middle_y(each)
    each["outline_mm"] = [[x, y + by] for x, y in each["outline_mm"]]


def put_on_fold(each: Layout, layout: Layout) -> None:
    """Moved over the first fold along the cloth, or over that across it."""
    folding = layout["folding"]
    if folding["folds_along_mm"]:
        put_at(each, folding["folds_along_mm"][0] + 5.0)
    else:
        xs = [x for x, _ in each["outline_mm"]]
        moved(each, folding["two_ply_mm"] - (min(xs) + max(xs)) / 2)


def test_laps_and_distances() -> None:
    beside = np.array([10.0, 0.0])
    assert laps(SQUARE, SQUARE)
    assert laps(SQUARE * 3, SQUARE + 3.0), "hidden inside"
    assert not laps(SQUARE, SQUARE + beside)
    assert apart(SQUARE, SQUARE + beside * 1.25) == pytest.approx(2.5)
    assert laps(CUP, CUP + 1.0)


def test_random_jobs_pass_both_judges() -> None:
    assert random_jobs.faults_of_seeds(range(8)) == []


def test_random_faults_end_well() -> None:
    assert mutants.faults_of_seeds(range(70)) == []


@pytest.fixture(scope="module")
def template(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with a job that has been laid."""
    folder = tmp_path_factory.mktemp("template")
    job = job_file(folder, TWO_PIECES)
    done = marker("lay", job, "--iterations", 0, "--out", folder / "laid")
    assert done.exit_code == 0, done.output
    return folder


@pytest.mark.parametrize(
    "kill",
    [
        Kill("print", signal.SIGKILL, 1.0),
        Kill("lay", signal.SIGTERM, 2.5),
        Kill("order", signal.SIGKILL, 3.5),
    ],
    ids=str,
)
def test_what_is_killed_leaves_nothing_behind(kill: Kill, template: Path) -> None:
    assert list(faults_of(kill, template)) == []


WORKERS = """
import os, time
from concurrent.futures import wait
from marker.planning.workers import local_pool
if __name__ == "__main__":
    with local_pool(2) as pool:
        at_work = [pool.executor.submit(os.getpid) for _ in range(2)]
        wait(at_work)
        for _ in range(4):
            pool.executor.submit(time.sleep, 600)
        print(*pool.executor._processes, flush=True)
        time.sleep(600)
"""


@pytest.mark.skipif(not Path("/proc/self").exists(), reason="it looks for processes in /proc")
def test_workers_end_with_their_parent(tmp_path: Path) -> None:
    script = tmp_path / "workers.py"
    script.write_text(WORKERS)
    with subprocess.Popen([sys.executable, script], stdout=subprocess.PIPE, text=True) as parent:
        assert parent.stdout is not None
        workers = [Path("/proc") / number for number in parent.stdout.readline().split()]
        parent.kill()
    assert len(workers) == 2
    deadline = time.monotonic() + 60
    while any(map(goes_on, workers)) and time.monotonic() < deadline:
        time.sleep(0.1)
    assert not any(map(goes_on, workers))


def goes_on(process: Path) -> bool:
    """Whether a process works: not one that has ended, and that nobody has asked after yet."""
    try:
        return (process / "stat").read_text().rpartition(")")[2].split()[0] != "Z"
    except OSError:
        return False
