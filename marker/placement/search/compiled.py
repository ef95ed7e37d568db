"""Are the kernels compiled yet? numba does so when they are first called, and keeps the result."""

from __future__ import annotations

from pathlib import Path

from marker.placement.search import separation as source


def is_compiled() -> bool:
    """Whether the search lies compiled in numba's cache, made since its source was written."""
    folder = Path(str(source.separate.stats.cache_path))
    written = Path(source.__file__).stat().st_mtime
    compiled = folder.glob(f"{Path(source.__file__).stem}.separate-*.nbi")
    return any(path.stat().st_mtime >= written for path in compiled)
