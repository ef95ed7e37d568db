"""Draws every garment's pattern.svg again from its measures: `python pieces/redraw.py`."""

from __future__ import annotations

import runpy
from pathlib import Path

from drafting import sheet

PIECES = Path(__file__).parent
SHEET_WIDTH_MM = 1600


def drawing(garment: str) -> str:
    """SVG text of one garment's pattern, as its draft.py drafts it."""
    draft = runpy.run_path(str(PIECES / garment / "draft.py"))
    return sheet(draft["TITLE"], draft["drafts"](), SHEET_WIDTH_MM)


if __name__ == "__main__":
    for garment in sorted(path.parent.name for path in PIECES.glob("*/draft.py")):
        (PIECES / garment / "pattern.svg").write_text(drawing(garment), encoding="utf-8")
