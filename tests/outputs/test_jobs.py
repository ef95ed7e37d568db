"""A new job is written whole, and over nobody's file."""

from __future__ import annotations

from pathlib import Path

import pytest

from marker.errors import FaultyInput
from marker.files import own_files, writing
from marker.outputs.jobs import write_job

TEXTS = {"job.toml": "name = 'a'\n", "pattern.svg": "<svg/>"}


def test_a_persons_drawing_is_not_replaced(tmp_path: Path) -> None:
    (tmp_path / "pattern.svg").write_text("mine")
    with pytest.raises(FaultyInput, match=r"pattern\.svg: this file was not written by marker"):
        write_job(tmp_path, TEXTS, "import")
    assert (tmp_path / "pattern.svg").read_text() == "mine"
    assert [path.name for path in tmp_path.iterdir()] == ["pattern.svg"]


def test_its_own_files_it_does_replace(tmp_path: Path) -> None:
    for _ in range(2):
        write_job(tmp_path, TEXTS, "import")
    (tmp_path / "job.toml").write_text("changed")
    with pytest.raises(FaultyInput, match="changed after it was written"):
        write_job(tmp_path, TEXTS, "import")


def test_jobs_share_the_schema(tmp_path: Path) -> None:
    write_job(tmp_path, {"job.toml": ""}, "new")
    (tmp_path / "job.toml").rename(tmp_path / "other.toml")
    written = write_job(tmp_path, {"job.toml": ""}, "import")
    assert [path.name for path in written] == ["job.toml"]


def test_a_full_disk_leaves_no_half_a_job(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    really = writing.write_atomically

    def full(path: Path, content: bytes | str) -> None:
        if b"svg" in (content if isinstance(content, bytes) else content.encode())[:5]:
            raise FaultyInput([writing.cannot_write(path, OSError(28, "No space left on device"))])
        really(path, content)

    monkeypatch.setattr(own_files, "write_atomically", full)
    with pytest.raises(FaultyInput, match="No space left on device"):
        write_job(tmp_path / "new", TEXTS, "import")
    assert not (tmp_path / "new").exists()
