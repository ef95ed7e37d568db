"""Where compiled kernels are kept: never inside the package, and never stale."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import marker

CODE = """
from marker.geometry.kernels import cache_folder, how_often, is_compiled
from marker.geometry.raster import cover
import numpy as np
before = is_compiled(cover)
cover(np.array([[0.0, 0.0], [3.0, 0.0], [0.0, 3.0]]), 1.0, 4, 5)
kept = getattr(cover.stats, "cache_path", "")
print(before, is_compiled(cover), how_often(), kept, sep="\\n")
"""


def _run(cache: Path) -> list[str]:
    environment = os.environ | {"XDG_CACHE_HOME": str(cache), "TMPDIR": str(cache.parent / "tmp")}
    done = subprocess.run(
        [sys.executable, "-c", CODE], env=environment, capture_output=True, text=True, check=True
    )
    return done.stdout.splitlines()


def test_machine_code_is_kept_in_the_users_cache_folder(tmp_path: Path) -> None:
    cache = tmp_path / "cache"
    before, after, often, path = _run(cache)
    assert (before, after, often) == ("False", "True", "once")
    assert Path(path).is_relative_to(cache)
    assert not Path(path).is_relative_to(Path(marker.__file__).parent)
    assert _run(cache)[0] == "True"


def test_a_home_that_takes_no_files_is_no_obstacle(tmp_path: Path) -> None:
    (tmp_path / "tmp").mkdir()
    (tmp_path / "cache").write_text("a file where the cache folder should be", encoding="utf-8")
    before, after, often, path = _run(tmp_path / "cache")
    assert (before, after) == ("False", "True")
    assert often.startswith("once while ")
    assert str(tmp_path / "cache") in often
    assert Path(path).is_relative_to(tmp_path / "tmp")
    (kept,) = (tmp_path / "tmp").iterdir()
    kept.chmod(0o777)  # now others could put code there
    before, after, often, _ = _run(tmp_path / "cache")
    assert (before, after) == ("False", "False")
    assert often.startswith("each time: ")
