"""Only what was written by the same command, and not changed since, is replaced; sets as sets."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import time
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest

from marker.errors import Fault, FaultyInput
from marker.files import own_files, writing
from marker.files.own_files import LIST, OwnFiles, write_own


def names(folder: Path) -> set[str]:
    return {path.name for path in folder.iterdir()} - {LIST}


def test_what_was_written_is_replaced_and_what_is_gone_goes(tmp_path: Path) -> None:
    OwnFiles(tmp_path).replace({"a.txt": "one", "b.txt": "two"}, "lay", name="choir dress")
    again = OwnFiles(tmp_path)
    assert again.name == "choir dress"
    again.replace({"a.txt": "three"}, "lay", gone=["b.txt", "c.txt"])
    assert names(tmp_path) == {"a.txt"}
    assert (tmp_path / "a.txt").read_text() == "three"


def written_and_changed(path: Path) -> None:
    write_own(path, "a diagram", "lay")
    path.write_text("mine")


@pytest.mark.parametrize(
    ("make", "said"),
    [
        (lambda path: path.write_text("mine"), "not written by marker"),
        (lambda path: path.mkdir(), "a folder"),
        (lambda path: path.symlink_to("elsewhere"), "not written by marker"),
        (lambda path: write_own(path, "a page", "print"), "written by `marker print`"),
        (written_and_changed, "changed after it was written"),
    ],
)
def test_a_persons_file_stays(make: object, said: str, tmp_path: Path) -> None:
    assert callable(make)
    make(tmp_path / "diagram.png")
    before = os.lstat(tmp_path / "diagram.png")
    with pytest.raises(FaultyInput, match=said):
        OwnFiles(tmp_path).replace({"layout.json": "{}", "diagram.png": b"new"}, "lay")
    assert os.lstat(tmp_path / "diagram.png") == before
    assert names(tmp_path) == {"diagram.png"}, "nothing of the set is written"


def test_what_a_person_changed_does_not_go(tmp_path: Path) -> None:
    own = OwnFiles(tmp_path)
    own.replace({"diagram-1.svg": "one"}, "lay")
    (tmp_path / "diagram-1.svg").write_text("with my notes")
    own.replace({"diagram.svg": "two"}, "lay", gone=["diagram-1.svg"])
    assert names(tmp_path) == {"diagram.svg", "diagram-1.svg"}


KILLED = """
import os, signal, sys
from pathlib import Path
from marker.files.own_files import OwnFiles
folder, after = Path(sys.argv[1]), int(sys.argv[2])
moves, really = 0, Path.replace
def replace(self, target):
    global moves
    if self.parent.name == ".marker-new" and self.name.isdigit():
        if moves == after:
            os.kill(os.getpid(), signal.SIGKILL)
        moves += 1
    return really(self, target)
own = OwnFiles(folder)
Path.replace = replace
own.replace({f"{k}.txt": "new" for k in range(5)}, "order", gone=["old.txt"])
"""


@pytest.mark.parametrize("after", range(6))
def test_a_set_that_was_cut_short_is_finished_by_the_next_command(
    after: int, tmp_path: Path
) -> None:
    """Killed before any file was moved, or between two, or before the list is: never a mix."""
    OwnFiles(tmp_path).replace({"old.txt": "old", "0.txt": "old", "4.txt": "old"}, "order")
    done = subprocess.run([sys.executable, "-c", KILLED, str(tmp_path), str(after)], check=False)
    assert done.returncode == -signal.SIGKILL
    own = OwnFiles(tmp_path)
    assert names(tmp_path) == {f"{k}.txt" for k in range(5)}
    assert {(tmp_path / name).read_text() for name in names(tmp_path)} == {"new"}
    own.replace({"0.txt": "newer"}, "order")
    assert (tmp_path / "0.txt").read_text() == "newer"


@pytest.mark.parametrize("stage", [".marker-new", ""])
def test_ctrl_c_leaves_a_whole_set_or_none(
    stage: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """It comes while files are written beside their places, and between two that are moved."""
    really = Path.replace

    def replace(path: Path, target: Path) -> Path:
        done = really(path, target)
        if target.name == ("1" if stage else "b.txt"):
            os.kill(os.getpid(), signal.SIGINT)
        return done

    own = OwnFiles(tmp_path)
    monkeypatch.setattr(Path, "replace", replace)
    with pytest.raises(KeyboardInterrupt):
        own.replace({"a.txt": "new", "b.txt": "new", "c.txt": "new"}, "import")
    assert names(tmp_path) == (set() if stage else {"a.txt", "b.txt", "c.txt"})


def test_a_full_disk_leaves_the_old_set(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    own = OwnFiles(tmp_path)
    own.replace({"a.txt": "old", "b.txt": "old"}, "lay")
    written: list[Path] = []
    really = writing.write_atomically

    def full(path: Path, content: bytes | str) -> None:
        written.append(path)
        if len(written) == 2:
            raise FaultyInput([writing.cannot_write(path, OSError(28, "No space left"))])
        really(path, content)

    monkeypatch.setattr(own_files, "write_atomically", full)
    with pytest.raises(FaultyInput, match=r"b\.txt: it can't be written \(No space left"):
        own.replace({"a.txt": "new", "b.txt": "new"}, "lay")
    assert {path.read_text() for path in tmp_path.glob("*.txt")} == {"old"}
    assert names(tmp_path) == {"a.txt", "b.txt"}


def test_a_list_that_is_broken_trusts_nothing(tmp_path: Path) -> None:
    write_own(tmp_path / "a.txt", "one", "lay")
    for broken in ("{", "[]", '{"files": 3}', json.dumps({"files": {"a.txt": 1}})):
        (tmp_path / LIST).write_text(broken)
        assert not OwnFiles(tmp_path).is_own("a.txt", "lay")


def test_two_commands_write_one_after_the_other(tmp_path: Path) -> None:
    """A second one waits for the lock of the first, which ends with its process."""
    holding = (
        "import fcntl, os, sys, time; handle = os.open(sys.argv[1], os.O_RDONLY); "
        "fcntl.flock(handle, fcntl.LOCK_EX); print('held', flush=True); time.sleep(0.5); "
        "print(time.monotonic(), flush=True)"
    )
    with subprocess.Popen(
        [sys.executable, "-c", holding, str(tmp_path)], stdout=subprocess.PIPE
    ) as holder:
        assert holder.stdout is not None
        holder.stdout.readline()
        write_own(tmp_path / "a.txt", "one", "lay")
        written = time.monotonic()
        assert float(holder.stdout.readline()) < written


def test_what_several_commands_write_at_once_is_all_listed(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(own_files, "_PATIENCE_SECONDS", 600.0)  # the disk may be slow
    names = [f"{number}.txt" for number in range(24)]
    with ThreadPoolExecutor(4) as pool:
        list(pool.map(lambda name: write_own(tmp_path / name, name, "print"), names))
    own = OwnFiles(tmp_path)
    assert all(own.is_own(name, "print") for name in names)


def test_what_is_refused_at_the_last_moment_is_left_as_it_was(tmp_path: Path) -> None:
    write_own(tmp_path / "a.txt", "one", "lay")

    def refuse() -> None:
        raise FaultyInput([Fault("a.txt", "it is another by now", "Wait")])

    with pytest.raises(FaultyInput, match="another by now"):
        OwnFiles(tmp_path).replace({"a.txt": "two"}, "lay", demand=refuse)
    assert (tmp_path / "a.txt").read_text() == "one"
