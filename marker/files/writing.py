"""Writing files so that a reader never meets half of one."""

from __future__ import annotations

import errno
import os
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from marker.errors import Fault, FaultyInput
from marker.files.reading import is_there

_MAY_WRITE = "Name a folder that you may write to"
_FULL = (errno.ENOSPC, errno.EDQUOT, errno.EFBIG)  # the last: more than one file may take


def prepare_folder(path: Path) -> None:
    """Make the folder and prove that it can be written to; raises FaultyInput if not."""
    try:
        path.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryFile(dir=path):
            pass
    except (OSError, ValueError) as error:
        raise FaultyInput([cannot_write(path, error)]) from error


@contextmanager
def output_folder(path: Path) -> Iterator[Path]:
    """`prepare_folder` for the time of a job; folders made for it go again if the job fails."""
    missing = [folder for folder in (path, *path.parents) if not is_there(folder)]
    prepare_folder(path)
    try:
        yield path
    except BaseException:
        with suppress(OSError):  # not empty: something was there or was written
            for folder in missing:
                folder.rmdir()
        raise


def write_atomically(path: Path, content: bytes | str) -> None:
    """Write all of `content` (text as UTF-8) to `path` or leave what was there untouched.

    Raises FaultyInput when it can't be written; no temporary file stays behind either way.
    """
    try:
        if path.is_dir():
            raise IsADirectoryError
        temporary = _stage(path, content.encode() if isinstance(content, str) else content)
        try:
            temporary.replace(path)
        except BaseException:
            temporary.unlink(missing_ok=True)
            raise
    except (OSError, ValueError) as error:
        raise FaultyInput([cannot_write(path, error)]) from error


def _stage(path: Path, data: bytes) -> Path:
    """A temporary file beside `path` that holds `data`."""
    handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name[:100]}.")
    temporary = Path(name)
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        temporary.chmod(0o644)  # mkstemp's 0600 would keep other people from reading it
    except BaseException:
        temporary.unlink(missing_ok=True)
        raise
    return temporary


def cannot_write(path: Path, error: Exception) -> Fault:
    """Why a file or folder can't be written, in words."""
    if isinstance(error, FileExistsError | NotADirectoryError):
        return Fault(str(path), "this is a file where a folder is needed", "Name another folder")
    if isinstance(error, IsADirectoryError):
        return Fault(str(path), "this is a folder, not a file", "Name another file")
    reason = getattr(error, "strerror", None) or str(error)
    full = isinstance(error, OSError) and error.errno in _FULL
    remedy = "Make room there, or name another folder" if full else _MAY_WRITE
    named = path.absolute() if path == Path() else path  # '.' alone says too little
    return Fault(str(named), f"it can't be written ({reason})", remedy)
