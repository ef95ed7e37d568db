"""Processor time of drawing all files of a layout: nine pieces, and two hundred and twenty.

    python -m tests.benchmarks.files

The layouts are quick ones: how well the pieces lie does not matter to the drawing.
"""

from __future__ import annotations

import shutil
import tempfile
import time
from pathlib import Path

from click.testing import CliRunner

from marker.cli import main
from marker.cli.stored import checked_again
from marker.drawing.layout_files import drawn_files
from marker.planning.laid_cloth import laid_cloth
from tests.benchmarks.folder import ROOT

ELEVEN_SHIRTS = {"36": 2, "38": 3, "40": 3, "42": 2, "44": 1}
REPEATS = 3


def choir_dress(folder: Path) -> Path:
    """The job of one dress, nine pieces."""
    return Path(shutil.copytree(ROOT / "pieces" / "choir-dress", folder / "dress")) / "job.toml"


def eleven_shirts(folder: Path) -> Path:
    """The job of eleven shirts in five sizes, 220 pieces."""
    path = Path(shutil.copytree(ROOT / "pieces" / "shirt", folder / "shirts")) / "job.toml"
    before, _, after = path.read_text(encoding="utf-8").partition("[order]\n")
    rest = after[after.index("\n[") :]
    order = "".join(f'"{size}" = {count}\n' for size, count in ELEVEN_SHIRTS.items())
    path.write_text(f"{before}[order]\n{order}{rest}", encoding="utf-8")
    return path


def laid(job: Path) -> Path:
    """The layout of a job, after one iteration."""
    out = job.parent / "laid"
    done = CliRunner().invoke(
        main, ["lay", str(job), "--iterations", "1", "--out", str(out), "--quiet"]
    )
    assert done.exit_code == 0, done.output
    return out / "layout.json"


def seconds(layout: Path) -> list[float]:
    """Processor seconds of drawing its files, several times; the first loads the libraries."""
    found, checked = checked_again(layout)
    taken = []
    for _ in range(REPEATS):
        started = time.process_time()
        drawn_files(laid_cloth(checked), found.job)
        taken.append(time.process_time() - started)
    return taken


if __name__ == "__main__":
    with tempfile.TemporaryDirectory() as name:
        for job in (choir_dress(Path(name)), eleven_shirts(Path(name))):
            layout = laid(job)
            _, checked = checked_again(layout)
            words = ", ".join(f"{each:.2f}" for each in seconds(layout))
            print(f"{len(checked.layout.placements)} pieces: {words} s")
