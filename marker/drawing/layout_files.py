"""The drawings of one cloth's layout, by the names of their files."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from marker.canvas.fonts import NO_LETTER, without_font
from marker.drawing.diagram.diagram import render_diagram
from marker.drawing.scene.layout_scene import build_scene
from marker.drawing.sheet.sewing import sewing_of
from marker.drawing.sheet.sheet_files import render_cutting_sheet
from marker.job import Job
from marker.planning.laid_cloth import LaidCloth


def drawn_files(laid: LaidCloth, job: Job) -> dict[str, bytes]:
    """File name -> contents: the diagram and the cutting sheet of one cloth's layout."""
    scene = build_scene(laid.checked, laid.purchase, laid.leftovers, reader=job.making.reader)
    sewing = sewing_of(laid.checked, job)
    sheet = render_cutting_sheet(scene, laid.checked, laid.purchase, sewing)
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
