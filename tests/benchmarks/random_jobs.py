"""Random jobs as files: read, laid for a few rounds, written, and judged twice.

The second judge is `second_judge`, which knows only the job's text and the layout's file.
"""

from __future__ import annotations

import json
import tomllib
from collections.abc import Iterator, Mapping
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import numpy as np

from marker import judge
from marker.errors import CannotBeDone
from marker.exchange.layout_json import layout_text
from marker.exchange.layout_tables import LayoutTable
from marker.jobfile.reading import read_job
from marker.jobfile.stored import layout_of_job
from marker.planning.events import unheard
from marker.planning.lay import lay
from marker.planning.limits import SearchLimits
from tests.benchmarks.second_judge import faults_in

ROUNDS = 2
NAPS = ("either way", "one way", "one way per garment")
TURNS = (*(([0], [0, 180], [0, 90, 180, 270]) * 3), [180])
SPREADS = (
    "folded lengthwise", "double fold", "folded crosswise", "cut and turned", "tube", "slit open"
)  # fmt: skip


def faults_of_seeds(seeds: range) -> list[str]:
    """What is wrong with the layouts of so many jobs, each with its seed."""
    with TemporaryDirectory() as folder:
        return [f"{seed}: {each}" for seed in seeds for each in faults_of(seed, Path(folder))]


def faults_of(seed: int, folder: Path) -> Iterator[str]:
    """What is wrong with the layout of one random job."""
    text = job_text(np.random.default_rng(seed))
    path = folder / "job.toml"
    path.write_text(text)
    job = read_job(path)
    try:
        laid = lay(job, SearchLimits(None, ROUNDS, seed, 1), unheard)
    except judge.JudgeRefused as refused:
        yield f"the judge refuses it: {refused.findings[0]}"
        return
    except CannotBeDone:
        return  # a piece is wider than the cloth
    for each in laid:
        layout = folder / "layout.json"
        layout.write_text(layout_text(LayoutTable.of(each.checked, None), layout, path, job))
        yield from (f"stored, {found}" for found in layout_of_job(layout).findings())
        yield from faults_in(json.loads(layout.read_text()), tomllib.loads(text))


def job_text(rng: np.random.Generator) -> str:
    """One to four pieces of one cloth, some on the fold or in pairs, for one to three garments."""
    cloth: dict[str, Any] = {
        "width": int(rng.integers(600, 1600)),
        "selvage": float(rng.choice([0.0, 10.0])),
        "gap": float(rng.choice([0.0, 0.0, 3.0, 7.5])),
        "nap": NAPS[rng.integers(len(NAPS))],
    }
    head = (
        f'name = "choir dress"\nunits = "mm"\nsize = "38"\norder = {{ 38 = {rng.integers(1, 4)} }}'
    )
    pairs = 0.4
    if rng.random() < 0.5:
        cloth |= _spread(cloth, rng)
        pairs = 0.8
    tube = [f"tube = {{ crease = {cloth.pop('crease')} }}"] if "crease" in cloth else []
    pieces = [_piece(number, pairs, rng) for number in range(1, int(rng.integers(2, 6)))]
    return "\n".join([head, "[cloth.jersey]", *_lines(cloth), *tube, *pieces])


def _spread(cloth: Mapping[str, Any], rng: np.random.Generator) -> dict[str, Any]:
    """What is to change in a cloth so that it may lie in another way than open."""
    spread = str(rng.choice(SPREADS))
    changed = {"spread": spread, "width": cloth["width"] + 300}
    if spread == "folded crosswise":
        return changed | {"nap": "either way"}
    if spread in ("tube", "slit open"):
        return changed | {"selvage": 0.0, "crease": float(rng.choice([0.0, 12.5]))}
    return changed


def _piece(number: int, pairs: float, rng: np.random.Generator) -> str:
    on_fold = bool(rng.random() < 0.3)
    points = _half(rng) if on_fold else _star(rng)
    count = int(rng.integers(1, 4))
    pair = bool(not on_fold and rng.random() < pairs)
    keys: dict[str, Any] = {
        "name": f"piece {number}",
        "points": np.round(points, 1).tolist(),
        "cut": 2 * count if pair else count,
        "pair": pair,
        "grain": int(rng.choice([0, 90, 45, 270, 13])),
        "turns": TURNS[rng.integers(len(TURNS))],
        "grain_tolerance": float(rng.choice([0.0, 0.0, 2.5])),
    }
    if on_fold:
        keys["fold"] = [1, 2]
        keys["grain"] = int(rng.choice([0, 90]))
    return "\n".join(["[[piece]]", *_lines(keys)])


def _lines(keys: dict[str, Any]) -> list[str]:
    return [f"{key} = {json.dumps(value)}" for key, value in keys.items()]


def _star(rng: np.random.Generator) -> np.ndarray[Any, np.dtype[np.float64]]:
    """A star-shaped polygon of three to fourteen corners, counter-clockwise."""
    corners = int(rng.integers(3, 15))
    angles = 2 * np.pi * (np.arange(corners) + rng.uniform(0, 0.45, corners)) / corners
    radii = rng.uniform(40, 260, corners)
    return np.asarray(300 + radii[:, None] * np.column_stack([np.cos(angles), np.sin(angles)]))


def _half(rng: np.random.Generator) -> np.ndarray[Any, np.dtype[np.float64]]:
    """A half above its fold, which runs from the first corner to the second."""
    length = float(rng.uniform(120, 500))
    xs = np.sort(rng.uniform(10, length - 10, 4))[::-1]
    upper = np.column_stack([xs, rng.uniform(30, 220, 4)])
    return np.concatenate([[[0.0, 0.0], [length, 0.0]], upper])
