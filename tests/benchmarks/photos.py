"""How near `marker import` comes to known pieces in rendered photos.

python -m tests.benchmarks.photos --photos 60
"""

from __future__ import annotations

import argparse
import json
import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from multiprocessing import get_context
from pathlib import Path

import numpy as np

from marker.exchange.importing import import_drawings
from tests.exchange.photo.measuring import AREA_SHARE, Compared, compared
from tests.exchange.photo.scenes import Ground, Kind, Scene, random_scene

KINDS = (Kind.A4, Kind.LETTER, Kind.SQUARE, Kind.ONE_SHEET, Kind.FOUR_SHEETS)
_OPTION = {Kind.FOUR_SHEETS: "marks"}


@dataclass(frozen=True)
class Row:
    """One photo. refused : what the command said instead."""

    seed: int
    ground: Ground
    kind: Kind
    scene: Scene
    pairs: Sequence[Compared] = ()
    missed: Sequence[str] = ()
    invented: int = 0
    sure_mm: float = 0.0
    refused: str = ""
    seconds: float = 0.0
    processor: float = 0.0
    megabytes: float = 0.0


def main() -> None:
    parser = argparse.ArgumentParser()
    parser.add_argument("--photos", type=int, default=60)
    parser.add_argument("--first", type=int, default=0, help="seed of the first")
    wanted = parser.parse_args()
    rows = []
    for seed in range(wanted.first, wanted.first + wanted.photos):
        rows.append(photo(seed))
        print(line(rows[-1]), flush=True)
    print()
    print("\n".join(table(rows)))


def photo(seed: int) -> Row:
    """One photo rendered and imported; grounds and references take turns."""
    ground, kind = list(Ground)[seed % 3], KINDS[seed // 3 % len(KINDS)]
    count = int(np.random.default_rng(seed).integers(3, 9))
    scene = random_scene(seed, ground, kind, count)
    # rendered apart: a command's peak of memory counts that of the process it was started from
    with ProcessPoolExecutor(1, get_context("spawn")) as apart:
        picture = apart.submit(scene.jpeg).result()
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        (folder / "photo.jpg").write_bytes(picture)
        option = _OPTION.get(kind, str(kind))
        command = [sys.executable, "-m", "marker", "import", str(folder / "photo.jpg")]
        command += ["--reference", option, "--out", str(folder / "job"), "--json"]
        began = time.perf_counter()
        with (folder / "out").open("wb") as out, (folder / "err").open("wb") as err:
            child = subprocess.Popen(command, stdout=out, stderr=err)
            _, _, used = os.wait4(child.pid, 0)
        seconds, processor = time.perf_counter() - began, used.ru_utime + used.ru_stime
        megabytes = used.ru_maxrss / 1024
        if not (folder / "job" / "pattern.svg").is_file():
            said = (folder / "err").read_text()
            return Row(
                seed, ground, kind, scene, (), (), 0, 0.0, said, seconds, processor, megabytes
            )
        read = import_drawings([folder / "job" / "pattern.svg"])
        report = json.loads((folder / "out").read_text())
    pairs, missed, invented = compared(scene.pieces, [piece.outline for piece in read.pieces])
    sure = max(piece["plus_minus_mm"] for piece in report["pieces"])
    return Row(
        seed, ground, kind, scene, pairs, missed, invented, sure, "", seconds, processor, megabytes
    )


def line(row: Row) -> str:
    """What came of one photo."""
    camera = row.scene.camera
    head = (
        f"{row.seed:3} {row.ground:9} {row.kind:21} {len(row.scene.pieces)} pieces, tilt "
        f"{camera.tilt_deg:4.1f}, barrel {100 * camera.barrel:.1f} %: "
    )
    if row.refused:
        return head + "refused: " + row.refused.strip().rpartition("photo.jpg: ")[2]
    worst = max((pair.worst_mm for pair in row.pairs), default=0.0)
    share = max((pair.worst for pair in row.pairs), default=0.0)
    area = max((abs(pair.area) for pair in row.pairs), default=0.0)
    return head + (
        f"worst {worst:.2f} mm, {share:.2f} of the limit, area {100 * area:.2f} %, "
        f"said ± {row.sure_mm:.1f}; missed {len(row.missed)}, made up {row.invented}; "
        f"{row.seconds:.1f} s ({row.processor:.1f} of the processor), {row.megabytes:.0f} MB"
    )


def table(rows: Sequence[Row]) -> Iterator[str]:
    """The accuracy of all photos, by reference and by ground."""
    yield (
        "| photos | read | pieces | missed | made up | measures | within 1 mm or 0.3 % | "
        "95 % within, mm | worst, mm | areas within 0.5 % | worst area | s | processor s | MB |"
    )
    yield "|-|" + "-|" * 13
    yield _summary("all", rows)
    for kind in KINDS:
        yield _summary(str(kind), [row for row in rows if row.kind is kind])
    for ground in Ground:
        yield _summary(f"on {ground}", [row for row in rows if row.ground is ground])


def _summary(name: str, rows: Sequence[Row]) -> str:
    read = [row for row in rows if not row.refused]
    pairs = [pair for row in read for pair in row.pairs]
    if not pairs:
        return f"| {name}: {len(rows)} | {len(read)} |" + " |" * 12
    off = np.array([abs(b - a) for pair in pairs for a, b in pair.measures])
    allowed = np.array([max(1.0, 0.003 * a) for pair in pairs for a, _ in pair.measures])
    area = np.array([abs(pair.area) for pair in pairs])
    return (
        f"| {name}: {len(rows)} | {len(read)} | {sum(len(row.scene.pieces) for row in read)} "
        f"| {sum(len(row.missed) for row in read)} | {sum(row.invented for row in read)} "
        f"| {len(off)} | {(off <= allowed).sum()} | {np.quantile(off, 0.95):.2f} | {off.max():.2f} "
        f"| {(area <= AREA_SHARE).sum()} of {len(area)} | {100 * area.max():.2f} % "
        f"| {np.median([r.seconds for r in read]):.1f} to {max(r.seconds for r in read):.1f} "
        f"| {np.median([r.processor for r in read]):.1f} to "
        f"{max(r.processor for r in read):.1f} | {max(r.megabytes for r in read):.0f} |"
    )


if __name__ == "__main__":
    main()
