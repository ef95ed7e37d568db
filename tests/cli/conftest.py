"""What the tests of the commands share."""

from __future__ import annotations

import pytest

from marker.drawing import layout_files, width_plot
from marker.job import Job
from marker.planning.laid_cloth import LaidCloth
from marker.planning.widths import WidthsResult


@pytest.fixture
def no_diagrams(monkeypatch: pytest.MonkeyPatch) -> None:
    """Drawing has tests of its own and takes seconds; here a line stands for diagram and sheet."""

    def plotted(found: WidthsResult) -> dict[str, bytes]:
        return {"buy.svg": f"{found.job_name} {found.cheapest}".encode()}

    def files(laid: LaidCloth, job: Job) -> dict[str, bytes]:
        words = f"{job.name} {laid.purchase.buy_mm}".encode()
        return {"diagram.svg": words, "cutting-sheet.html": words}

    monkeypatch.setattr(width_plot, "render_width_plot", plotted)
    monkeypatch.setattr(layout_files, "drawn_files", files)
