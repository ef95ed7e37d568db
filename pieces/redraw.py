"""Draws every garment's patterns again from its measures: `python pieces/redraw.py`."""

from __future__ import annotations

import runpy
from pathlib import Path

PIECES = Path(__file__).parent


def drafted(garment: str) -> dict[str, str]:
    """File name -> text of everything that one garment's draft.py makes."""
    made = runpy.run_path(str(PIECES / garment / "draft.py"))["files"]()
    return dict(made)


if __name__ == "__main__":
    for garment in sorted(path.parent.name for path in PIECES.glob("*/draft.py")):
        for name, text in drafted(garment).items():
            (PIECES / garment / name).write_text(text, encoding="utf-8")
