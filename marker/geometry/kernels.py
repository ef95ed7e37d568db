"""Compiled kernels: how numba compiles them, and where the machine code is kept.

It lies in the user's cache folder, one folder for each state of the sources, never inside the
installed package. An upgrade or an edit starts a new folder, and a read-only install works.
"""

from __future__ import annotations

import functools
import hashlib
import os
import shutil
import tempfile
from collections.abc import Callable
from contextlib import suppress
from importlib.metadata import version
from pathlib import Path
from stat import S_ISDIR
from typing import Any, TypeVar

import numba
from platformdirs import user_cache_path

Function = TypeVar("Function", bound=Callable[..., Any])

_PACKAGE = Path(__file__).parents[1]
_SOURCES = ("tolerances.py", "geometry/**/*.py", "placement/**/*.py", "orders/annealing.py")
"""All that kernels read."""

_ROOM = 50_000_000  # bytes that a disk must have free: numba ends a run where it can't write
_FOLDERS_KEPT = 16  # some megabytes each; programs of several states in use at once keep theirs


def kernel(*, allocates: bool = False, inline: bool = False) -> Callable[[Function], Function]:
    """Compile a function with numba at its first call, without the interpreter lock.

    allocates : it makes arrays. All others run without numba's reference counting, which took
        more time than the work itself; they read single entries of arrays, never rows.
    inline : it is compiled into each of its callers.
    """
    options: dict[str, Any] = {"nogil": True}
    if not allocates:
        options["_nrt"] = False
    if inline:
        options["inline"] = "always"

    def compiled(function: Function) -> Function:
        folder = _usable_folder()
        config: Any = numba.config
        before = config.CACHE_DIR
        try:
            # read by numba when it decorates; other users of numba keep their own setting
            config.CACHE_DIR = str(folder or "")
            made: Function = numba.njit(cache=folder is not None, **options)(function)
        finally:
            config.CACHE_DIR = before
        return made

    return compiled


def cache_folder() -> Path:
    """Where the machine code of this state of the sources is kept."""
    digest = hashlib.sha256()
    for path in sorted(path for pattern in _SOURCES for path in _PACKAGE.glob(pattern)):
        digest.update(path.read_bytes())
    state = f"{version('marker')}-numba-{numba.__version__}-{digest.hexdigest()[:12]}"
    return user_cache_path("marker") / "kernels" / state


def is_compiled(function: Callable[..., Any]) -> bool:
    """Whether machine code of this kernel is kept already."""
    stats: Any = getattr(function, "stats", None)
    if stats is None:
        return False
    return any(Path(str(stats.cache_path)).glob(f"*.{function.__name__}-*.nbc"))


def how_often() -> str:
    """How often kernels are compiled, in words, and why where that is more than once."""
    wanted, other, kept = cache_folder(), _temporary_folder(), _usable_folder()
    if kept == wanted:
        return "once"
    if kept is None:
        return f"each time: neither {wanted.parent} nor {other} can be used to keep it"
    return f"once while {other} lasts: {wanted.parent} can't be used to keep it"


@functools.cache
def _usable_folder() -> Path | None:
    """The cache folder, made; where a home is read-only or full, one that lasts while the machine
    runs. None where nothing can be written at all: then every run compiles anew."""
    wanted, other = cache_folder(), _temporary_folder()
    for folder in (wanted, other / wanted.name):
        try:
            folder.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
            if folder.parent == other and not _is_ours_alone(other):
                continue
            folder.mkdir(exist_ok=True)
            with tempfile.TemporaryFile(dir=folder):
                full = shutil.disk_usage(folder).free < _ROOM
        except OSError:
            continue
        if full:
            continue
        _forget_old(folder)
        return folder
    return None


def _temporary_folder() -> Path:
    """Each user has another."""
    user = f"-{os.getuid()}" if hasattr(os, "getuid") else ""
    return Path(tempfile.gettempdir()) / f"marker-kernels{user}"


def _is_ours_alone(folder: Path) -> bool:
    """Whether nobody else could put code there that would run here."""
    if not hasattr(os, "getuid"):
        return True
    found = folder.lstat()
    return S_ISDIR(found.st_mode) and found.st_uid == os.getuid() and not found.st_mode & 0o022


def _forget_old(folder: Path) -> None:
    """Remove what other states of the sources left, but for the latest few."""
    with suppress(OSError):  # another process that starts just now may be at the same
        others = [each for each in folder.parent.iterdir() if each != folder and each.is_dir()]
        others.sort(key=lambda each: each.stat().st_mtime, reverse=True)
        for each in others[_FOLDERS_KEPT:]:
            shutil.rmtree(each, ignore_errors=True)
