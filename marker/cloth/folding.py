"""Where the folds of a spread cloth lie, and what the second ply makes of a piece.

All in mm on the cloth opened flat, in the frame of a layout: x along it from its start, y across it
from the inner edge of the near selvage. Of a tube, from the fold where it is slit if it is.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from marker.cloth.fabric import Cloth, Nap
from marker.cloth.spread import Spread, Spreading
from marker.geometry.arrays import FloatArray

OF_TUBES = (Spreading.TUBE, Spreading.SLIT_OPEN)


@dataclass(frozen=True)
class Lane:
    """A stretch across the cloth that a piece must keep within, or lie on the fold at its edge.

    low, high : mm. fold_low, fold_high : whether that edge is a fold, so that it is no edge of the
    cloth: what lies there goes on in the ply below.
    """

    low: float
    high: float
    fold_low: bool = False
    fold_high: bool = False

    @property
    def folds(self) -> tuple[float, ...]:
        """y of the folds at its edges."""
        edges = ((self.low, self.fold_low), (self.high, self.fold_high))
        return tuple(y for y, fold in edges if fold)


@dataclass(frozen=True)
class Image:
    """How a point of the upper ply is mirrored to the place below it: (x, y) -> (along · x + dx,
    across · y + dy). One of along and across is -1, the other 1."""

    along: float
    dx: float
    across: float
    dy: float


def lanes(spreading: Spreading, cloth: Cloth) -> tuple[Lane, ...]:
    """Where pieces may lie across the table: of two plies on the upper one, else on the cloth.

    A creased tube is turned before it is laid flat, so that its creases lie on one another along
    the middle and neither fold is one. Slit open, it is slit along one of them.
    """
    width, selvage = cloth.usable_width_mm, cloth.selvage_mm
    crease = cloth.tube.crease_mm / 2 if cloth.tube else 0.0
    if spreading is Spreading.FOLDED_LENGTHWISE:
        return (Lane(0.0, width / 2, fold_high=True),)
    if spreading is Spreading.DOUBLE_FOLD:
        near, far = width / 4 - selvage / 2, 3 * width / 4 + selvage / 2
        middle = width / 2
        return (
            Lane(near, middle - selvage, fold_low=True),
            Lane(middle + selvage, far, fold_high=True),
        )
    if spreading is Spreading.TUBE and crease:
        middle = width / 4
        return (
            Lane(0.0, middle - crease, fold_low=True),
            Lane(middle + crease, width / 2, fold_high=True),
        )
    if spreading is Spreading.TUBE:
        return (Lane(0.0, width / 2, fold_low=True, fold_high=True),)
    if spreading is Spreading.SLIT_OPEN and crease:
        middle = width / 2
        return Lane(crease, middle - crease), Lane(middle + crease, width - crease)
    return (Lane(0.0, width),)


def lanes_in_one_ply(spreading: Spreading, cloth: Cloth) -> tuple[Lane, ...]:
    """Where pieces may lie on what is laid open beyond two plies. A tube is slit along the near
    fold there, so that both creases stay where they are."""
    width = cloth.usable_width_mm
    if spreading is Spreading.TUBE and cloth.tube and cloth.tube.crease_mm:
        crease, quarter = cloth.tube.crease_mm / 2, width / 4
        return (
            Lane(0.0, quarter - crease),
            Lane(quarter + crease, 3 * quarter - crease),
            Lane(3 * quarter + crease, width),
        )
    return (Lane(0.0, width),)


def fold_lines(spread: Spread, cloth: Cloth) -> tuple[float, ...]:
    """Where the folds lie that run along the flat cloth: y, ascending; 0 to the whole turn of a
    tube. None where it lies open."""
    if spread.two_ply_mm == 0:
        return ()
    return tuple(fold for lane in lanes(spread.spreading, cloth) for fold in lane.folds)


def image(spread: Spread, cloth: Cloth, lane: Lane) -> Image:
    """What the lower ply makes of a piece in a lane of the upper ply."""
    if spread.spreading is Spreading.CUT_AND_TURNED:
        return Image(1.0, spread.two_ply_mm, -1.0, cloth.usable_width_mm)
    if spread.spreading is Spreading.FOLDED_CROSSWISE:
        return Image(-1.0, 2 * spread.two_ply_mm, 1.0, 0.0)
    if spread.spreading is Spreading.TUBE:
        return Image(1.0, 0.0, -1.0, cloth.usable_width_mm)
    return Image(1.0, 0.0, -1.0, 2 * lane.folds[0])


def seen_through(
    outlines: Sequence[tuple[str, FloatArray]], across: Sequence[Lane]
) -> tuple[tuple[str, FloatArray], ...]:
    """Named outlines of places of the flat cloth, as they are seen from above on the table.

    outlines : (n, 2) mm, counter-clockwise, each with its name. Those between the lanes' first and
    last edges are kept; those of the ply below come where they lie under the upper one.
    """
    over = [
        (name, (outline * [1.0, -1.0] + [0.0, 2 * fold])[::-1])
        for lane in across
        for fold in lane.folds
        for name, outline in outlines
    ]
    low, high = across[0].low, across[-1].high
    return tuple(
        (name, outline)
        for name, outline in (*outlines, *over)
        if outline[:, 1].max() > low and outline[:, 1].min() < high
    )


def refusal(spreading: Spreading, cloth: Cloth) -> tuple[str, str] | None:
    """Why a cloth can't be spread like this, and what to do; None if it can."""
    if cloth.tube and spreading not in OF_TUBES:
        return (
            f"{cloth.name} is a tube, it can't lie '{spreading}'",
            f"Lay it as it comes, '{Spreading.TUBE}', or '{Spreading.SLIT_OPEN}'",
        )
    if not cloth.tube and spreading in OF_TUBES:
        return (
            f"{cloth.name} is no tube, it can't lie '{spreading}'",
            "Say `tube = true` of a cloth that was knitted as one",
        )
    if spreading is Spreading.FOLDED_CROSSWISE and cloth.nap is not Nap.EITHER_WAY:
        return (
            f"folded crosswise the nap of {cloth.name} runs back on the lower ply",
            f"Lay it '{Spreading.CUT_AND_TURNED}'",
        )
    return None
