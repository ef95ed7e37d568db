"""What the tests of the commands share."""

from __future__ import annotations

from collections.abc import Sequence

import pytest

from marker.cli import outputs
from marker.cloth.buying import Purchase
from marker.drawing.scene.layout_scene import Scene
from marker.layout import CheckedLayout
from marker.pattern.bands.strip_plan import StripPlan
from marker.planning.widths import WidthsResult


@pytest.fixture
def no_diagrams(monkeypatch: pytest.MonkeyPatch) -> None:
    """Drawing has tests of its own and takes seconds; here a line stands for diagram and sheet."""

    def drawn(scene: Scene) -> dict[str, bytes]:
        return {"diagram.svg": f"{scene.job_name} {scene.facts[0].value}".encode()}

    def plotted(found: WidthsResult) -> dict[str, bytes]:
        return {"buy.svg": f"{found.job_name} {found.cheapest}".encode()}

    def written(
        scene: Scene, _: CheckedLayout, buy: Purchase, strips: Sequence[tuple[str, StripPlan]]
    ) -> dict[str, bytes]:
        words = f"{scene.job_name} {buy.buy_mm} {len(strips)}"
        return {"cutting-sheet.html": words.encode()}

    monkeypatch.setattr(outputs, "render_diagram", drawn)
    monkeypatch.setattr(outputs, "render_width_plot", plotted)
    monkeypatch.setattr(outputs, "render_cutting_sheet", written)
