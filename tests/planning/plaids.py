"""A tunic of plaid cloth, its pieces as polygons of few corners, for the tests of matching.

Drawn with the grain up (along the cloth), the right side up, what is drawn being the half or hand
whose side seam is on the right: front and back alike.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from marker.cloth.fabric import Cloth
from marker.cloth.repeat import Axis, Bars, Repeat
from marker.job import Job
from marker.pattern.edge import Edge, EdgeRef, Stretch
from marker.pattern.pattern import Pattern
from marker.pattern.piece import Line, Piece
from marker.pattern.repeats.match import Match, MatchPlace
from marker.pattern.seams.sewing import Place, Spot

BOTH = (Axis.ALONG, Axis.ACROSS)
AXES: dict[str, tuple[Axis, ...]] = {
    "side": (Axis.ALONG,),
    "centre": BOTH,
    "armhole": BOTH,
    "pocket": BOTH,
}


def plaid(along: Bars | None, across: Bars | None, width_mm: float = 1400.0) -> Cloth:
    return Cloth("plaid", width_mm, repeat=Repeat(along, across))


def body(name: str, width: float, *, on_fold: bool) -> Piece:
    """Half a front or back `width` mm wide, the centre on the left."""
    outline = np.array([[0, 0], [width, 0], [width - 20, 450], [width, 600], [100, 660], [0, 600]])
    edges = {"side": Edge(1, 2), "armhole": Edge(2, 3), "centre": Edge(5, 0), "hem": Edge(0, 1)}
    return Piece(
        name,
        "plaid",
        outline.astype(float),
        cut=1 if on_fold else 2,
        pair=not on_fold,
        fold=Stretch(5, 0) if on_fold else None,
        line=Line.STITCHING,
        allowance_mm=15.0,
        edges=edges,
    )


def sleeve(width: float) -> Piece:
    outline = np.array([[0, 0], [width, 0], [width, 300], [width / 2, 420], [0, 300]])
    edges = {"front cap": Edge(3, 4), "back cap": Edge(2, 3)}
    return Piece(
        "sleeve", "plaid", outline.astype(float), cut=2, pair=True, line=Line.STITCHING,
        allowance_mm=15.0, edges=edges,
    )  # fmt: skip


def pocket() -> Piece:
    outline = np.array([[0, 0], [120, 0], [120, 140], [0, 140]], dtype=float)
    return Piece(
        "pocket", "plaid", outline, line=Line.STITCHING, allowance_mm=10.0,
        edges={"bottom": Edge(0, 1)},
    )  # fmt: skip


def at(piece: str, edge: str, where: float | Spot, inside: float = 0.0) -> MatchPlace:
    return MatchPlace(Place(EdgeRef(piece, edge), where), inside)


def matches(number_of_first: int = 1) -> tuple[Match, ...]:
    """Side seams along only; centre front, armhole and the pocket's corner on both axes."""
    places: Sequence[tuple[str, tuple[MatchPlace, MatchPlace]]] = (
        ("side", (at("front", "side", 200.0), at("back", "side", 190.0))),
        ("centre", (at("front", "centre", 250.0), at("front", "centre", 250.0))),
        ("armhole", (at("front", "armhole", 80.0), at("sleeve", "front cap", 90.0))),
        ("pocket", (at("pocket", "bottom", Spot.START), at("front", "centre", 300.0, 60.0))),
    )
    return tuple(
        Match(name, number, ends, AXES[name])
        for number, (name, ends) in enumerate(places, number_of_first)
    )


def tunic(cloth: Cloth, *, front: float = 260.0, back: float = 270.0, garments: int = 1) -> Job:
    """Matched on those of the axes on which the cloth repeats."""
    held = tuple(
        Match(each.name, each.number, each.places, axes)
        for each in matches()
        if (axes := tuple(axis for axis in each.axes if axis in cloth.repeat.axes))
    )
    pieces = (
        body("front", front, on_fold=False),
        body("back", back, on_fold=True),
        sleeve(300.0),
        pocket(),
    )
    return Job(
        "choir tunic", "38", (Pattern("38", pieces, matches=held),), (cloth,), {"38": garments}
    )
