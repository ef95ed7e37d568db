"""What was found outlives a disk that is full, before it is written and while it is drawn."""

from __future__ import annotations

import errno
import json
import tempfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from marker.errors import FaultyInput
from marker.exchange.layout_json import read_layout
from marker.files import own_files, writing
from tests.cli.commands import TWO_PIECES, job_file, marker
from tests.cli.test_order_job import SASHES

FEW = ("--iterations", 0)


def full_disk(monkeypatch: pytest.MonkeyPatch, *full: Path) -> None:
    """No file can be written in these folders or below."""
    make: Callable[..., tuple[int, str]] = tempfile.mkstemp

    def mkstemp(*words: Any, dir: Path, **others: Any) -> tuple[int, str]:
        if any(Path(dir).is_relative_to(each) for each in full):
            raise OSError(errno.ENOSPC, "No space left on device")
        return make(*words, dir=dir, **others)

    monkeypatch.setattr(tempfile, "mkstemp", mkstemp)


@pytest.fixture
def spare(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The temporary folder, which has room when `out` has none."""
    folder = tmp_path / "spare"
    folder.mkdir()
    monkeypatch.setattr(tempfile, "tempdir", str(folder))
    full_disk(monkeypatch, tmp_path / "out")
    return folder


@pytest.mark.usefixtures("no_diagrams")
def test_a_layout_that_its_disk_has_no_room_for_is_kept_elsewhere(
    tmp_path: Path, spare: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    job = job_file(tmp_path, TWO_PIECES)
    told = marker("lay", job, *FEW, "--out", tmp_path / "out")
    assert told.exit_code == 2
    assert "No space left on device). Make room there" in told.stderr
    (kept,) = spare.glob("marker-layout-*/layout.json")
    assert f"so it is kept in {kept}. Print or export it from there" in told.stderr
    assert not (tmp_path / "out").exists()
    (rescued,) = json.loads(marker("layouts", job, "--json").stdout)["layouts"]
    assert Path(rescued["file"]).parent.parent == kept.parent
    assert not rescued["stands"]
    other = tmp_path / "other" / "job.toml"
    other.parent.mkdir()
    other.write_bytes(job.read_bytes())
    assert json.loads(marker("layouts", other, "--json").stdout)["layouts"] == []
    monkeypatch.undo()
    assert marker("judge", kept).exit_code == 0
    assert marker("export", kept, "--to", "svg").exit_code == 0
    listing, back = (told.stderr.split("`")[k].split()[1:] for k in (1, 3))
    assert str(kept.parent / "layouts") in marker(*listing).stdout
    assert marker(*back).exit_code == 0
    length = [read_layout(path).length_mm for path in (kept, tmp_path / "out" / "layout.json")]
    assert length[0] == length[1]


def test_a_plan_that_its_disk_has_no_room_for_is_kept_elsewhere(
    tmp_path: Path, spare: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    job = job_file(tmp_path, SASHES)
    words = ("--max-garments", 3, *FEW, "--workers", 1, "--out", tmp_path / "out")
    told = marker("order", job, *words)
    assert told.exit_code == 2
    assert "No space left on device). Make room there" in told.stderr
    assert "choir sashes, ordered: 2 × S, 4 × M" in told.stdout
    assert not (tmp_path / "out").exists()
    (kept,) = spare.glob("marker-order-*")
    assert f"so it is kept with its markers in {kept}. Print or export" in told.stderr
    monkeypatch.undo()
    assert (kept / "plan.csv").is_file()
    assert marker("judge", kept / "marker-A-layout.json").exit_code == 0


@pytest.mark.usefixtures("no_diagrams")
def test_a_layout_that_no_disk_has_room_for_is_said_to_be_lost(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path))
    full_disk(monkeypatch, tmp_path)
    told = marker("lay", job_file(tmp_path, TWO_PIECES), *FEW, "--out", tmp_path / "out")
    assert told.exit_code == 2
    assert "the layout is lost: no temporary folder takes it either" in told.stderr


@pytest.fixture
def full_of_drawings(monkeypatch: pytest.MonkeyPatch) -> None:
    """No PDF can be written."""
    really = writing.write_atomically

    def full(path: Path, content: bytes | str) -> None:
        if content[:4] == b"%PDF":
            raise FaultyInput([writing.cannot_write(path, OSError(28, "No space left on device"))])
        really(path, content)

    monkeypatch.setattr(own_files, "write_atomically", full)


@pytest.mark.usefixtures("full_of_drawings")
@pytest.mark.parametrize(
    ("words", "kept"),
    [
        (("buy", "--widths", "150cm", *FEW), set()),
        (
            ("order", "--demand", "38=1", "--max-garments", 1, "--max-plies", 1, *FEW),
            {"plan.csv", "to-buy.csv", "marker-A-layout.json"},
        ),
    ],
    ids=["buy", "order"],
)
def test_what_was_found_is_said_where_it_cannot_be_drawn(
    words: tuple[object, ...], kept: set[str], tmp_path: Path
) -> None:
    command, *options = words
    told = marker(command, job_file(tmp_path, TWO_PIECES), *options, "--out", tmp_path / "out")
    assert told.exit_code == 2
    assert "No space left on device" in told.stderr
    assert "jersey" in told.stdout
    assert {path.name for path in (tmp_path / "out").glob("[!.]*")} == kept


@pytest.mark.usefixtures("full_of_drawings")
def test_a_disk_that_is_full_of_drawings_keeps_the_layout(tmp_path: Path) -> None:
    told = marker("lay", job_file(tmp_path, TWO_PIECES), *FEW, "--out", tmp_path / "out")
    assert told.exit_code == 2
    assert "the layout is kept in" in told.stderr
    assert "No space left on device" in told.stderr
    assert marker("judge", tmp_path / "out" / "layout.json").exit_code == 0
    assert {path.name for path in (tmp_path / "out").glob("[!.]*")} == {"layout.json", "layouts"}
