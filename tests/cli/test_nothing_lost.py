"""No file of a person is replaced, the shorter layout stays, and stopping keeps what was found."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import time
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from marker.cli.stored import checked_again, numbered_pieces
from marker.exchange.layout_json import read_layout
from marker.outputs import layouts
from marker.outputs.folders import job_folder
from marker.outputs.layouts import LayoutFolder
from tests.cli.commands import PATIENCE_SECONDS, TWO_PIECES, job_file, laid, marker
from tests.cli.test_order_job import SASHES

MANY = TWO_PIECES.replace("cut = 3", "cut = 10")
FEW = ("--iterations", 0)


def stored(folder: Path) -> dict[str, Any]:
    return dict(json.loads((folder / "out" / "layout.json").read_text()))


@pytest.mark.parametrize("name", ["job.toml", "out/layout.json", "out/diagram.pdf"])
def test_printing_replaces_no_file_of_another_kind(name: str, tmp_path: Path) -> None:
    job = job_file(tmp_path, TWO_PIECES)
    laid(job, *FEW)
    before = (tmp_path / name).read_bytes()
    layout = tmp_path / "out" / "layout.json"
    told = marker("print", layout, "--paper", "a4", "--out", tmp_path / name)
    assert told.exit_code == 2
    assert "so it is not replaced. Move it away, or name another place with --out" in told.stderr
    assert (tmp_path / name).read_bytes() == before
    for _ in range(2):  # its own it does replace
        done = marker("print", layout, "--paper", "a4", "--out", tmp_path / "pages.pdf")
        assert done.exit_code == 0, done.output


@pytest.mark.usefixtures("no_diagrams")
@pytest.mark.parametrize("name", ["layout.json", "diagram.png", "cutting-sheet.html"])
def test_laying_stops_at_a_persons_file_before_it_searches(name: str, tmp_path: Path) -> None:
    (tmp_path / "out").mkdir()
    (tmp_path / "out" / name).write_text("mine")
    began = time.monotonic()
    told = marker("lay", job_file(tmp_path, MANY), "--seconds", 200, "--out", tmp_path / "out")
    assert time.monotonic() - began < 100
    assert told.exit_code == 2
    assert f"{name}: this file was not written by marker" in told.stderr
    assert (tmp_path / "out" / name).read_text() == "mine"
    assert {path.name for path in (tmp_path / "out").iterdir()} == {name}


@pytest.mark.usefixtures("no_diagrams")
def test_exports_plots_and_bands_replace_only_their_own(tmp_path: Path) -> None:
    job = job_file(tmp_path, TWO_PIECES)
    out = tmp_path / "out"
    laid(job, *FEW)
    for words, name in (
        (("export", out / "layout.json", "--to", "svg"), "layout.svg"),
        (("buy", job, *FEW, "--widths", "150cm", "--out", out), "buy.svg"),
    ):
        for _ in range(2):
            assert marker(*words).exit_code == 0
        (out / name).write_text("mine")
        told = marker(*words)
        assert told.exit_code == 2
        assert not told.stdout  # it was not sought first
        assert "changed after it was written" in told.stderr
        assert (out / name).read_text() == "mine"


@pytest.mark.usefixtures("no_diagrams")
def test_a_shorter_layout_of_another_job_file_does_not_stand_for_this_one(tmp_path: Path) -> None:
    """Both give their job the same name and share a folder; the second has a copy more."""
    out = tmp_path / "out"
    laid(job_file(tmp_path, TWO_PIECES), *FEW)
    more = tmp_path / "more.toml"
    more.write_text(TWO_PIECES.replace("cut = 3", "cut = 30"), encoding="utf-8")
    told = marker("lay", more, *FEW, "--out", out, "--json")
    assert told.exit_code == 0, told.output
    assert len(read_layout(out / "layout.json").placements) == 34


@pytest.mark.usefixtures("no_diagrams")
def test_a_longer_layout_does_not_replace_a_shorter_one(tmp_path: Path) -> None:
    job = job_file(tmp_path, MANY)
    best = laid(job, "--iterations", 8)
    again = marker("lay", job, *FEW, "--seed", 1, "--out", tmp_path / "out", "--json")
    assert again.exit_code == 0, again.output
    found = json.loads(again.stdout)
    assert found["length_mm"] == best["length_mm"]
    assert "the earlier layout stays" in again.stderr
    assert stored(tmp_path)["length_mm"] == best["length_mm"]
    told = marker("layouts", job, "--out", tmp_path / "out", "--json")
    kept = json.loads(told.stdout)["layouts"]
    assert [each["stands"] for each in kept] == [False, True]
    assert kept[0]["length_mm"] > kept[1]["length_mm"] == best["length_mm"]
    assert kept[1]["buy_mm"] == best["buy"]["buy_mm"]
    for each in kept:
        assert marker("judge", each["file"]).exit_code == 0
    replaced = laid(job, *FEW, "--seed", 1, "--replace")
    assert stored(tmp_path)["length_mm"] == replaced["length_mm"] == kept[0]["length_mm"]
    told = marker("layouts", job, "--out", tmp_path / "out", "--json")
    assert len(json.loads(told.stdout)["layouts"]) == 2, "the same layout is kept once"
    lines = marker("layouts", job, "--out", tmp_path / "out").stdout
    assert "to buy" in lines
    assert " * " in lines


@pytest.mark.usefixtures("no_diagrams")
def test_a_layout_of_the_job_as_it_was_does_not_stay(tmp_path: Path) -> None:
    job = job_file(tmp_path, MANY)
    laid(job, "--iterations", 3)
    more = laid(job_file(tmp_path, MANY.replace("cut = 10", "cut = 11")), *FEW)
    assert stored(tmp_path)["length_mm"] == more["length_mm"]
    lines = marker("layouts", job, "--out", tmp_path / "out").stdout
    assert "has changed since" in lines


@pytest.mark.usefixtures("no_diagrams")
def test_drawings_are_of_the_layout_that_stands(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Another command lays the job anew while the drawings of the first are made."""
    job, out = job_file(tmp_path, MANY), tmp_path / "out"
    laid(job, *FEW)
    really = layouts.LayoutFolder.drawings

    def slow(folder: LayoutFolder, standing: Any) -> list[dict[str, bytes]]:
        monkeypatch.setattr(layouts.LayoutFolder, "drawings", really)
        laid(job, "--iterations", 3, "--seed", 3, "--replace")
        return really(folder, standing)

    monkeypatch.setattr(layouts.LayoutFolder, "drawings", slow)
    told = marker("lay", job, "--iterations", 0, "--seed", 5, "--replace", "--out", out)
    assert told.exit_code == 2
    assert "another command has laid this anew meanwhile" in told.stderr
    assert stored(tmp_path)["seed"] == 3
    assert marker("judge", out / "layout.json").exit_code == 0


@pytest.mark.usefixtures("no_diagrams")
def test_the_last_layouts_are_kept(tmp_path: Path) -> None:
    job = job_file(tmp_path, TWO_PIECES)
    laid(job, *FEW)
    for k in range(11):
        words = (tmp_path / "out" / "layout.json", 7, "--to", f"{100 + k} cm, 10 cm")
        assert marker("move", *words).exit_code == 0
    told = marker("layouts", job, "--out", tmp_path / "out", "--json")
    kept = json.loads(told.stdout)["layouts"]
    lengths = [each["length_mm"] for each in kept]
    assert len(lengths) == 10
    assert lengths == sorted(lengths, reverse=True), "the latest first, the first ones gone"
    assert marker("layouts", job, "--out", tmp_path / "none").stdout.startswith("No layouts of")


@pytest.mark.usefixtures("no_diagrams")
def test_jobs_whose_names_are_alike_have_folders_of_their_own(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    folders = []
    for k, name in enumerate(("Choir dress", "choir dress", "choir: dress", "Choir dress")):
        folder = tmp_path / str(k)
        folder.mkdir()
        job = job_file(folder, TWO_PIECES.replace('"choir dress"', f'"{name}"'))
        done = marker("lay", job, *FEW, "--json")
        assert done.exit_code == 0, done.output
        folders.append(Path(json.loads(done.stdout)["files"][0]).parent.name)
    assert folders == ["choir-dress", "choir-dress_2", "choir-dress_3", "choir-dress"]
    assert job_folder("choir dress").name == "choir-dress_2"


DRAWING = "-m", "marker"
NEVER_DRAWN = (
    "-c",
    """
import time
from marker.__main__ import run
from marker.outputs import lays, layouts
lays.lay_drawings = layouts.LayoutFolder.drawings = lambda *_: time.sleep(3600)
run()
""",
)
"""What draws until it is stopped."""


def stopped(
    program: Sequence[str],
    words: Sequence[object],
    kinds: Sequence[signal.Signals],
    at: Sequence[str],
) -> tuple[int, str, str]:
    """Exit code and output of `marker WORDS`, one signal sent at each line that holds a word."""
    with subprocess.Popen(
        [sys.executable, *program, *map(str, words)],
        stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
    ) as process:  # fmt: skip
        assert process.stderr is not None
        told = ""
        for kind, word in zip(kinds, at, strict=True):
            line = ""
            while word not in line:
                line = process.stderr.readline()
                told += line
                assert line, told
            os.kill(process.pid, kind)
        out, rest = process.communicate(timeout=PATIENCE_SECONDS)
    return process.returncode, out, told + rest


@pytest.mark.parametrize("kind", [signal.SIGINT, signal.SIGTERM, signal.SIGHUP])
def test_the_first_signal_keeps_the_best_and_draws_it(kind: signal.Signals, tmp_path: Path) -> None:
    if signal.getsignal(kind) is signal.SIG_IGN:
        pytest.skip("it is ignored here, as under nohup")
    job = job_file(tmp_path, MANY)
    words = ("lay", job, "--seconds", 3600, "--out", tmp_path / "out")
    code, out, told = stopped(DRAWING, words, [kind], ["used"])
    assert code == 130
    assert "stopped by hand" in out
    assert "the best layout is written" in told
    assert (tmp_path / "out" / "diagram.pdf").exists()
    assert marker("judge", tmp_path / "out" / "layout.json").exit_code == 0


def test_the_second_leaves_the_drawings_out(tmp_path: Path) -> None:
    job = job_file(tmp_path, MANY)
    words = ("lay", job, "--seconds", 3600, "--out", tmp_path / "out")
    code, _, told = stopped(NEVER_DRAWN, words, [signal.SIGINT] * 2, ["used", "drawing"])
    assert code == 130
    assert "the drawings are left out" in told
    assert marker("judge", tmp_path / "out" / "layout.json").exit_code == 0
    assert not (tmp_path / "out" / "diagram.pdf").exists()


def test_an_order_is_kept_before_its_lays_are_drawn(tmp_path: Path) -> None:
    """Ctrl-C while they are drawn, its time being up."""
    job = job_file(tmp_path, SASHES)
    limits = ("--max-garments", 2, "--max-plies", 5, "--iterations", 1)
    words = ("order", job, *limits, "--out", tmp_path / "out")
    code, out, told = stopped(NEVER_DRAWN, words, [signal.SIGINT], ["drawing"])
    assert code == 130
    assert "lay sheets and diagrams are left out" in told
    assert "plan.csv" in out
    assert "lay sheet" not in out
    assert {path.suffix for path in (tmp_path / "out").glob("[!.]*")} == {".csv", ".json"}
    for layout in (tmp_path / "out").glob("*.json"):
        assert marker("judge", layout).exit_code == 0


def corner(layout: dict[str, Any], piece: str, copy: int) -> tuple[float, float]:
    (place,) = (
        each for each in layout["placements"] if (each["piece"], each["copy"]) == (piece, copy)
    )
    return (min(x for x, _ in place["outline_mm"]), min(y for _, y in place["outline_mm"]))


@pytest.mark.usefixtures("no_diagrams")
def test_a_piece_is_moved_and_the_rest_laid_around_it(tmp_path: Path) -> None:
    job = job_file(tmp_path, TWO_PIECES)
    before = laid(job, "--iterations", 1)
    layout = tmp_path / "out" / "layout.json"
    numbered = numbered_pieces(checked_again(layout)[1]).piece(1)
    (edge, line), first = numbered.placed_mm, numbered.key
    moved = marker("move", layout, 1, "--to", "90 cm, 30 cm", "--json")
    assert moved.exit_code == 0, moved.output
    after = json.loads(moved.stdout)
    assert after["stopped_because"] == "changed by hand"
    at = corner(after, first.piece, first.copy)
    came = np.subtract(at, corner(before, first.piece, first.copy))
    assert came == pytest.approx((900 - edge, 300 - line), abs=0.01)
    words = ("--keep", layout, "--pin", 1, "--iterations", 1, "--replace")  # it keeps its number
    around = laid(job, *words)
    assert corner(around, first.piece, first.copy) == pytest.approx(at, abs=0.01)
    assert marker("judge", layout).exit_code == 0
    kept = json.loads(marker("layouts", job, "--out", tmp_path / "out", "--json").stdout)["layouts"]
    assert len(kept) == 2, "nothing shorter was found: the same layout is kept once"
    turned = marker("move", layout, 1, "--turn", "--json")
    assert turned.exit_code in (0, 1)
    swapped = marker("move", layout, 1, "--swap", 2, "--json")
    assert swapped.exit_code == 0, swapped.output


@pytest.mark.usefixtures("no_diagrams")
def test_what_cannot_be_moved_says_so(tmp_path: Path) -> None:
    job = job_file(tmp_path, TWO_PIECES)
    laid(job, *FEW)
    layout = tmp_path / "out" / "layout.json"
    for words, said in (
        ((layout, 99, "--to", "1 m, 1 m"), "there is no piece 99: the diagram numbers them 1 to 7"),
        ((layout, 1), "Give one of --to, --turn and --swap"),
        ((layout, 1, "--to", "1 m"), "is no place. Write it as"),
        ((layout, 1, "--to", "1 m, 3"), "no unit"),
    ):
        told = marker("move", *words)
        assert told.exit_code == 2, words
        assert said in told.stderr
    assert marker("lay", job, "--pin", "3").exit_code == 2
    other = tmp_path / "other"
    other.mkdir()
    another = job_file(other, TWO_PIECES.replace('"choir dress"', '"choir tunic"'))
    told = marker("lay", another, "--keep", layout, "--out", other / "out", *FEW)
    assert told.exit_code == 2
    assert "this is a layout of choir dress, not of choir tunic" in told.stderr
