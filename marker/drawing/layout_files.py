"""The drawings of one cloth's layout, by the names of their files."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from marker.canvas.fonts import NO_LETTER, without_font
from marker.drawing.diagram.diagram import render_diagram
from marker.drawing.scene.layout_scene import build_scene
from marker.drawing.sheet.sheet_files import render_cutting_sheet
from marker.job import Job
from marker.layout import CheckedLayout
from marker.pattern.bands.strip_plan import StripPlan
from marker.planning.laid_cloth import LaidCloth


def drawn_files(laid: LaidCloth, job: Job) -> dict[str, bytes]:
    """File name -> contents: the diagram and the cutting sheet of one cloth's layout."""
    scene = build_scene(laid.checked, laid.purchase, laid.leftovers)
    strips = _strips_on(laid.checked, job)
    sheet = render_cutting_sheet(scene, laid.checked, laid.purchase, strips)
    return render_diagram(scene) | sheet


def missing_letters(laid: Sequence[LaidCloth]) -> Iterator[str]:
    """A sentence where names on the drawings have letters that no font of this machine has."""
    layouts = [each.checked.layout for each in laid]
    names = [name for each in layouts for name in (each.job_name, each.cloth.name)]
    names += [place.piece for each in layouts for place in each.placements]
    missing = without_font("".join(names))
    if missing:
        yield (
            f"no font of this machine has {' '.join(missing)}; '{NO_LETTER}' is drawn in their "
            f"place. Install a TrueType font that has them, and draw again."
        )


def _strips_on(checked: CheckedLayout, job: Job) -> list[tuple[str, StripPlan]]:
    """Size and plan of the strips that lie on this cloth, or on this remnant of it; planned for
    the whole cloth."""
    laid = {(placement.size, placement.piece) for placement in checked.layout.placements}
    return [
        (size, plan)
        for size in job.order
        for plan in job.strip_plans(size)
        if plan.cloth.name == checked.layout.cloth.name and (size, plan.strip.name) in laid
    ]
