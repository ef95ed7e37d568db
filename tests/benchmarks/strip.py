"""An instance as a job for the product: cut pieces on a cloth, and the layouts back.

Everything goes through the product's own door, `marker.placement.problem.prepare`: one garment
made of all pieces, on a cloth with nap either way. Units are scaled so that the strip is as wide
as a cloth, since gaps, play and tolerances in mm are meant for that.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from marker import judge
from marker.cloth.fabric import Cloth
from marker.errors import CannotBeDone
from marker.layout import Ending, Layout, Placement
from marker.pattern.piece import CutPiece
from marker.placement.problem.cuts import Label, labels
from marker.placement.problem.prepare import placements
from marker.placement.problem.statement import PlacementProblem
from marker.placement.solve import Result
from tests.benchmarks.instance import Instance
from tests.placement.problems import on_cloth

WIDTH_MM = 1500.0
_GARMENTS = ("all",)


@dataclass(frozen=True)
class Strip:
    """An instance made ready. scale : mm in one of the instance's units."""

    instance: Instance
    scale: float
    cloth: Cloth
    cut_pieces: tuple[CutPiece, ...]
    items: tuple[Label, ...]
    problem: PlacementProblem


def strip_of(instance: Instance) -> Strip:
    """The instance on a cloth; raises CannotBeDone for pieces wider than it in every turn."""
    scale = WIDTH_MM / instance.width
    cloth = Cloth("strip", WIDTH_MM)
    cut_pieces = tuple(
        CutPiece(
            piece.id,
            _GARMENTS[0],
            cloth.name,
            piece.outline * scale,
            piece.turns,
            copies=piece.quantity,
        )
        for piece in instance.pieces
    )
    items = labels(cut_pieces, _GARMENTS)
    try:
        problem = on_cloth(items, cloth)
    except CannotBeDone as error:
        raise CannotBeDone(f"{instance.name}, scaled to {WIDTH_MM:g} mm: {error}") from error
    return Strip(instance, scale, cloth, cut_pieces, items, problem)


def stored_layout(strip: Strip, result: Result, seed: int) -> dict[str, Any]:
    """The layout as it is kept in a file, lengths in the instance's own units."""
    length = result.length / strip.scale
    return {
        "instance": strip.instance.name,
        "seed": seed,
        "sheet_width": strip.instance.width,
        "length": length,
        "length_lower_bound": result.bound / strip.scale,
        "density": strip.instance.density(length),
        "placements": [
            {
                "piece": placement.piece,
                "copy": placement.copy,
                "rotation_deg": placement.rotation_deg,
                "x": placement.x_mm / strip.scale,
                "y": placement.y_mm / strip.scale,
                "outline": (placement.outline_mm / strip.scale).tolist(),
            }
            for placement in placements(result.problem, strip.items, result.arrangement)
        ],
    }


def findings(strip: Strip, stored: dict[str, Any]) -> tuple[judge.Finding, ...]:
    """What the judge finds wrong with a stored layout, empty when nothing is."""
    layout = Layout(
        job_name=stored["instance"],
        cloth=strip.cloth,
        placements=tuple(_placement(strip, entry) for entry in stored["placements"]),
        length_mm=stored["length"] * strip.scale,
        length_lower_bound_mm=stored["length_lower_bound"] * strip.scale,
        stopped_because=Ending.UNKNOWN,
        seed=stored["seed"],
        seconds=0.0,
    )
    return judge.findings(layout, strip.cut_pieces, _GARMENTS)


def _placement(strip: Strip, entry: dict[str, Any]) -> Placement:
    return Placement(
        piece=entry["piece"],
        size=_GARMENTS[0],
        garment=1,
        copy=entry["copy"],
        rotation_deg=entry["rotation_deg"],
        mirrored=False,
        x_mm=entry["x"] * strip.scale,
        y_mm=entry["y"] * strip.scale,
        outline_mm=np.array(entry["outline"]) * strip.scale,
    )
