"""Compiled kernels: how numba compiles them, and where the machine code is kept.

It lies in the user's cache folder, one folder for each state of the sources, never inside the
installed package. An upgrade or an edit starts a new folder, and a read-only install works.
"""

from __future__ import annotations

import functools
import hashlib
import shutil
import tempfile
from collections.abc import Callable
from importlib.metadata import version
from pathlib import Path
from typing import Any, TypeVar

import numba
from platformdirs import user_cache_path

Function = TypeVar("Function", bound=Callable[..., Any])

_PACKAGE = Path(__file__).parents[1]
_SOURCES = ("tolerances.py", "geometry/**/*.py", "placement/**/*.py")  # all that kernels read
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


@functools.cache
def _usable_folder() -> Path | None:
    """The cache folder, made; one that lasts as long as the machine runs where a home is
    read-only or full; None where nothing can be written at all: then every run compiles anew."""
    wanted = cache_folder()
    for folder in (wanted, Path(tempfile.gettempdir()) / "marker-kernels" / wanted.name):
        try:
            folder.mkdir(parents=True, exist_ok=True)
            with tempfile.TemporaryFile(dir=folder):
                full = shutil.disk_usage(folder).free < _ROOM
        except OSError:
            continue
        if full:
            continue
        _forget_old(folder)
        return folder
    return None


def _forget_old(folder: Path) -> None:
    """Remove what other states of the sources left, but for the latest few."""
    others = [each for each in folder.parent.iterdir() if each != folder and each.is_dir()]
    others.sort(key=lambda each: each.stat().st_mtime, reverse=True)
    for each in others[_FOLDERS_KEPT:]:
        shutil.rmtree(each, ignore_errors=True)
