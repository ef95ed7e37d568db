"""Strips that finish openings or are cut by length."""

from __future__ import annotations

from typing import Any

from marker.pattern.bands.strip import Fold, Length, Strip, cut_width_mm


def strip(name: str, finished_mm: float, fold: Fold, length: Length, **more: Any) -> Strip:
    """A strip that is so wide when finished, 10 mm of seam allowance at its edges; `more` are
    fields of Strip."""
    width = cut_width_mm(finished_mm, fold, 10.0)
    cloth = more.pop("cloth", "")
    return Strip(name, cloth, width, length, fold=fold, finished_mm=finished_mm, **more)
