"""A write either happens whole or leaves everything as it was."""

from __future__ import annotations

import errno
import os
from pathlib import Path

import pytest

from marker.errors import FaultyInput
from marker.files.writing import prepare_folder, write_atomically


def test_writes_text_and_bytes(tmp_path: Path) -> None:
    write_atomically(tmp_path / "a.txt", "½ yd\n")
    write_atomically(tmp_path / "a.bin", b"\x00\xff")
    assert (tmp_path / "a.txt").read_bytes() == b"\xc2\xbd yd\n"
    assert (tmp_path / "a.bin").read_bytes() == b"\x00\xff"
    assert len(list(tmp_path.iterdir())) == 2


def test_a_full_disk_leaves_the_old_file_and_nothing_else(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(_: int) -> None:
        raise OSError(errno.ENOSPC, "No space left on device")

    path = tmp_path / "layout.json"
    path.write_text("old")
    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(FaultyInput, match=r"No space left on device\). Make room there"):
        write_atomically(path, "new")
    assert path.read_text() == "old"
    assert list(tmp_path.iterdir()) == [path]


def test_ctrl_c_leaves_nothing_behind(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def interrupt(_: int) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(os, "fsync", interrupt)
    with pytest.raises(KeyboardInterrupt):
        write_atomically(tmp_path / "layout.json", "new")
    assert list(tmp_path.iterdir()) == []


def test_a_folder_in_the_way(tmp_path: Path) -> None:
    (tmp_path / "layout.json").mkdir()
    with pytest.raises(FaultyInput, match="this is a folder"):
        write_atomically(tmp_path / "layout.json", "new")
    assert [path.name for path in tmp_path.iterdir()] == ["layout.json"]


def test_no_folder_to_write_to(tmp_path: Path) -> None:
    with pytest.raises(FaultyInput, match="can't be written"):
        write_atomically(tmp_path / "missing" / "layout.json", "new")


def test_prepare_folder_makes_it_and_leaves_it_empty(tmp_path: Path) -> None:
    prepare_folder(tmp_path / "a" / "b")
    prepare_folder(tmp_path / "a" / "b")
    assert list((tmp_path / "a" / "b").iterdir()) == []


def test_prepare_folder_meets_a_file(tmp_path: Path) -> None:
    (tmp_path / "a").write_text("")
    for path in (tmp_path / "a", tmp_path / "a" / "b"):
        with pytest.raises(FaultyInput, match="file where a folder is needed"):
            prepare_folder(path)


def test_prepare_folder_that_does_not_take_files() -> None:
    """/proc takes no new file, not even from root."""
    if not Path("/proc/self").exists():
        pytest.skip("no /proc here")
    with pytest.raises(FaultyInput, match="can't be written"):
        prepare_folder(Path("/proc"))
