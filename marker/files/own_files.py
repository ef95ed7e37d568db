"""Folders that the commands write to: only files that they wrote themselves are replaced.

Each folder has a list of the files written there, by which command, and what they held. A file that
is not on the list, or holds something else by now, is a person's: it is never replaced.

Files that belong together are written beside their places first, with a plan of what is to be
moved; only then are they moved. If that is cut short, the next command that writes there moves the
rest. So a reader never meets half a file, and a mix of old and new files does not last.
"""

from __future__ import annotations

import hashlib
import json
import os
import shutil
import signal
import threading
import time
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager, suppress
from dataclasses import dataclass, replace
from pathlib import Path
from types import FrameType
from typing import Any

from marker.errors import Fault, FaultyInput
from marker.files.writing import cannot_write, prepare_folder, write_atomically

LIST = ".marker-files"
_STAGE = ".marker-new"
_PLAN = "plan.json"
_PATIENCE_SECONDS = 10.0

Contents = Mapping[str, bytes | str]
"""File name -> what it is to hold, text as UTF-8."""


@dataclass(frozen=True)
class _Entry:
    """One file on the list. by : the command that wrote it."""

    by: str
    digest: str


class OwnFiles:
    """The files of one folder, which exists. Raises FaultyInput where it can't be written to."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        try:
            with _alone(folder):
                _finish(folder)
        except OSError as error:
            raise FaultyInput([cannot_write(folder, error)]) from error

    @property
    def name(self) -> str | None:
        """What the folder was made for, such as a job; None where nothing was written yet."""
        said = _read(self.folder / LIST).get("name")
        return said if isinstance(said, str) else None

    def is_own(self, name: str, by: str) -> bool:
        """Whether a file is as this command wrote it."""
        entry = self._entries().get(name)
        return entry is not None and entry.by == by and entry.digest == _digest(self.folder / name)

    def demand_own(self, names: Iterable[str], by: str) -> None:
        """Raise FaultyInput for those of these files that are there and not this command's."""
        faults = [
            _strange(self.folder / name, self._entries().get(name), by)
            for name in dict.fromkeys(names)
            if os.path.lexists(self.folder / name) and not self.is_own(name, by)
        ]
        if faults:
            raise FaultyInput(faults)

    def there(self, is_meant: Callable[[str], object]) -> list[str]:
        """Names of the files in the folder that are meant."""
        return sorted(each.name for each in self.folder.iterdir() if is_meant(each.name))

    def replace(
        self,
        contents: Contents,
        by: str,
        *,
        gone: Iterable[str] = (),
        name: str | None = None,
        demand: Callable[[], None] = lambda: None,
    ) -> None:
        """Put all of these files in place, or none, and take away those that are gone.

        gone : names of files that go where this command wrote them, and stay where not.
        name : what the folder is for. demand : asked once no other command writes here; what it
        raises leaves all as it is. Raises FaultyInput where a file is a person's, or can't be
        written.
        """
        data = {k: v.encode() if isinstance(v, str) else v for k, v in contents.items()}
        try:
            with _alone(self.folder):
                _finish(self.folder)
                demand()
                self.demand_own(contents, by)
                leaving = [each for each in gone if each not in contents and self.is_own(each, by)]
                data[LIST] = self._list_with(data, leaving, by, name)
                self._stage_and_move(data, leaving)
        except OSError as error:
            raise FaultyInput([cannot_write(self.folder, error)]) from error

    def _list_with(
        self, data: Mapping[str, bytes], leaving: Sequence[str], by: str, name: str | None
    ) -> bytes:
        """The list of files as it is to be."""
        entries = {k: v for k, v in self._entries().items() if k not in leaving}
        entries |= {k: _Entry(by, hashlib.sha256(v).hexdigest()) for k, v in data.items()}
        listed = {
            "name": name or self.name,
            "files": {k: {"by": v.by, "sha256": v.digest} for k, v in sorted(entries.items())},
        }
        return json.dumps(listed, ensure_ascii=False).encode()

    def _stage_and_move(self, data: Mapping[str, bytes], leaving: Sequence[str]) -> None:
        stage = self.folder / _STAGE
        stage.mkdir()
        try:
            for number, (name, content) in enumerate(data.items()):
                _write_staged(stage / str(number), content, self.folder / name)
            moves = {str(number): name for number, name in enumerate(data)}
            plan = json.dumps({"move": moves, "remove": leaving}, ensure_ascii=False)
            _write_staged(stage / _PLAN, plan.encode(), self.folder)
        except BaseException:
            with _unbroken():
                shutil.rmtree(stage, ignore_errors=True)
            raise
        with _unbroken():
            _finish(self.folder)  # what cuts this short leaves the plan for the next command

    def _entries(self) -> dict[str, _Entry]:
        files = _read(self.folder / LIST).get("files")
        if not isinstance(files, dict):
            return {}
        return {
            name: _Entry(str(each.get("by")), str(each.get("sha256")))
            for name, each in files.items()
            if isinstance(each, dict)
        }


def write_own(path: Path, content: bytes | str, by: str) -> None:
    """Write one file, in a folder that is made if need be, unless a person's file is there."""
    prepare_folder(path.parent)
    OwnFiles(path.parent).replace({path.name: content}, by)


@contextmanager
def _unbroken() -> Iterator[None]:
    """Ctrl-C comes once this is over, which takes no longer than a blink."""
    if threading.current_thread() is not threading.main_thread():  # there it never comes
        yield
        return
    came: list[tuple[int, FrameType | None]] = []
    before = signal.signal(signal.SIGINT, lambda number, frame: came.append((number, frame)))
    try:
        yield
    finally:
        signal.signal(signal.SIGINT, before or signal.SIG_DFL)
        if came and callable(before):
            before(*came[0])


@contextmanager
def _alone(folder: Path) -> Iterator[None]:
    """While this goes on, no other command writes to the folder; a lock that ends with the process.
    Where a system has no such locks there is none."""
    try:
        import fcntl
    except ImportError:
        yield
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        began = time.monotonic()
        while True:
            try:
                fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
            except BlockingIOError:
                if time.monotonic() - began > _PATIENCE_SECONDS:
                    raise FaultyInput([_busy(folder)]) from None
                time.sleep(0.05)
            except OSError:  # a file system without locks
                break
            else:
                break
        yield
    finally:
        os.close(handle)


def _write_staged(path: Path, content: bytes, meant: Path) -> None:
    """Write a file beside its place; a fault names the place."""
    try:
        write_atomically(path, content)
    except FaultyInput as error:
        faults = [replace(fault, place=str(meant)) for fault in error.faults]
        raise FaultyInput(faults) from error


def _move(folder: Path) -> None:
    """Move what is staged, and take away what is to go; again after it was cut short."""
    stage = folder / _STAGE
    plan = _read(stage / _PLAN)
    for staged, name in plan.get("move", {}).items():
        with suppress(FileNotFoundError):  # it was moved before
            (stage / staged).replace(folder / name)
    for name in plan.get("remove", []):
        (folder / name).unlink(missing_ok=True)


def _finish(folder: Path) -> None:
    """Bring to its end what a command that was killed had begun to write here."""
    if not (folder / _STAGE).is_dir():
        return
    if (folder / _STAGE / _PLAN).is_file():
        _move(folder)
    shutil.rmtree(folder / _STAGE, ignore_errors=True)


def _strange(path: Path, entry: _Entry | None, by: str) -> Fault:
    remedy = "Move it away, or name another place with --out"
    if path.is_dir():
        return Fault(str(path), "this is a folder where a file is to be written", remedy)
    if entry is None:
        return Fault(
            str(path), "this file was not written by marker, so it is not replaced", remedy
        )
    if entry.by != by:
        said = f"this file was written by `marker {entry.by}`, so it is not replaced"
        return Fault(str(path), said, remedy)
    return Fault(str(path), "this file was changed after it was written, so it is kept", remedy)


def _busy(folder: Path) -> Fault:
    return Fault(str(folder), "another command is writing here", "Wait until that has ended")


def _read(path: Path) -> dict[str, Any]:
    """The object that a JSON file holds; an empty one where it is none."""
    try:
        found = json.loads(path.read_text(encoding="utf-8"))
    except (OSError, ValueError, RecursionError):
        return {}
    return found if isinstance(found, dict) else {}


def _digest(path: Path) -> str:
    try:
        return hashlib.sha256(path.read_bytes()).hexdigest()
    except OSError:
        return ""
