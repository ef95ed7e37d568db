"""The order of cutting, from the cloth as it is bought to the pile of pieces; common practice, no
source."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise

from marker.cloth.fabric import Cloth
from marker.drawing.scene.layout_scene import Scene
from marker.drawing.scene.piece_drawing import PieceDrawing
from marker.drawing.scene.spread_sketch import SpreadSketch
from marker.tolerances import SAME_POINT_MM
from marker.units import cut_length, cut_place

SECTION_MM = 300.0  # no shorter stretch of cloth is worth parting (no source)


def cutting_steps(
    scene: Scene, cloth: Cloth, sketch: SpreadSketch, laid: Sequence[PieceDrawing], bands: bool
) -> Iterator[str]:
    """A sentence or two each.

    laid : every outline on the table. bands : some of them are marked by a table.
    """
    yield _prepared(cloth)
    yield _spread(scene, sketch)
    yield (
        "Set every piece by its grain line, or by the fold drawn on it: both ends equally far from "
        f"the near {scene.near_edge}. Its marked edge lies as far from the start as the diagram "
        "lists."
        + (" Every arrow points as in the diagram: the cloth has a nap." if scene.nap else "")
    )
    mirrored = [copy for copy in laid if copy.mirrored]
    if mirrored:
        yield f"Turn the pattern over for the mirrored pieces: {runs(mirrored)}."
    yield f"{_order(scene)}{_sections(scene)}"
    yield "Before you lift a piece, transfer its marks" + (
        ", and mark the bands by their tables." if bands else "."
    )
    yield (
        "Tick each piece as you lay it aside and count the pile before you clear the table. Keep "
        "the rest of the cloth" + (" for samples of the bands." if bands else " for samples.")
    )


def _prepared(cloth: Cloth) -> str:
    """Washed or not, relaxed, pressed."""
    if cloth.shrinkage.grows:
        wash = "Do not wash the cloth first: the pieces are cut larger by what washing takes."
    elif cloth.shrinkage.of_cloth != (1.0, 1.0):
        wash = (
            "Wash and dry the cloth first, as the garment will be: all lengths on the table are "
            "those of the washed cloth."
        )
    else:
        wash = (
            "If the garment will be washed, wash and dry the cloth first, but nothing that is "
            "ironed on."
        )
    knit = cloth.gauge is not None or cloth.tube is not None
    relax = " It stretches: let it lie unrolled for a day, and spread it without a pull."
    return f"{wash}{relax if knit else ''} Press it, if it may be pressed."


def _spread(scene: Scene, sketch: SpreadSketch) -> str:
    end, after = cut_length(scene.end_mm), f"{cut_length(scene.length_mm)} after it"
    repeat = _repeat_begins(scene)
    if repeat:
        kept = f", at least {end} from the end" if scene.end_mm else ""
        chalk = f"Chalk the start line {repeat}{kept}, and the last one {after}."
    elif scene.end_mm:
        chalk = f"Chalk the start line {end} from the end and the last one {after}."
    else:
        chalk = f"Measure {cut_length(scene.length_mm)}."
    return f"Spread it {sketch.words}. {chalk}"


def _repeat_begins(scene: Scene) -> str:
    """Where on the repeat the start line lies; '' where no piece is tied to it."""
    ahead = [at for at in scene.repeat.along_mm if at >= 0]
    if not ahead or not any(piece.matches for piece in scene.pieces):
        return ""
    there = cut_length(ahead[0])
    return f"{'where' if there == cut_length(0.0) else f'{there} before'} a repeat begins"


def runs(copies: Sequence[PieceDrawing]) -> str:
    """Numbers with runs drawn together: '1, 4-6'."""
    found: list[list[int]] = []
    for number in sorted(copy.number for copy in copies):
        if found and number == found[-1][-1] + 1:
            found[-1].append(number)
        else:
            found.append([number])
    return ", ".join(str(run[0]) if len(run) == 1 else f"{run[0]}-{run[-1]}" for run in found)


def _along(scene: Scene) -> list[PieceDrawing]:
    """The pieces as they begin along the cloth."""
    return sorted(scene.pieces, key=lambda piece: (round(_low(piece)), piece.number))


def _low(piece: PieceDrawing) -> float:
    return float(piece.outline[:, 0].min())


def _order(scene: Scene) -> str:
    """In which order the pieces are cut; those that were moved keep their numbers."""
    along = [piece.number for piece in _along(scene)]
    if along == sorted(along):
        return "Cut in the order of the numbers, from the start of the cloth."
    numbers = ", ".join(map(str, along))
    return f"Cut from the start of the cloth, in this order: {numbers}."


def _sections(scene: Scene) -> str:
    """Where nothing crosses, so that the cloth may be cut across to part it handily."""
    places: list[str] = []
    along = _along(scene)
    last, parted = along[0].outline[:, 0].max(), 0.0
    for before, piece in pairwise(along):
        low, high = _low(piece), piece.outline[:, 0].max()
        if low >= last - SAME_POINT_MM and low - parted >= SECTION_MM:
            places.append(f"{cut_place(low)} (after {before.number})")
            parted = low
        last = max(last, high)
    return (
        f" Nothing crosses {', '.join(places)}: cut the cloth there to part it." if places else ""
    )
