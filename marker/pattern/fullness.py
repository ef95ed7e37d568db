"""What is taken in along an edge when it is sewn: darts, pleats, tucks and gathers."""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import StrEnum

from marker.geometry.arrays import FloatArray


@dataclass(frozen=True)
class TakenIn:
    """A stretch of an edge that is shorter once it is sewn.

    start_mm, end_mm : along the stitching line of the named edge, from its first corner.
    """

    edge: str
    start_mm: float
    end_mm: float

    @property
    def drawn_mm(self) -> float:
        """Its length as drawn."""
        return self.end_mm - self.start_mm

    @property
    def sewn_mm(self) -> float:
        """Its length once sewn: nothing, for what is folded away."""
        return 0.0

    def __str__(self) -> str:
        return "what is taken in"

    def at_share(self, ratio: float) -> TakenIn:
        """The same on an edge so many times as long: its middle keeps its share of the edge."""
        shift = (self.start_mm + self.end_mm) / 2 * (ratio - 1)
        return replace(self, start_mm=self.start_mm + shift, end_mm=self.end_mm + shift)


@dataclass(frozen=True, eq=False)
class Dart(TakenIn):
    """Sewn together from the edge to its tip; start to end is its mouth.

    tip : (2,) mm as drawn. None where it lies `depth_mm` square in from the middle of the mouth;
        from a mouth that ends on the fold, along the fold.
    """

    depth_mm: float = 0.0
    tip: FloatArray | None = None

    def __str__(self) -> str:
        return "the dart"


class PleatKind(StrEnum):
    """KNIFE : folded one way. BOX : two folds turned from one another. INVERTED : two folds that
    meet. TUCK : folded and stitched along its length."""

    KNIFE = "knife pleat"
    BOX = "box pleat"
    INVERTED = "inverted pleat"
    TUCK = "tuck"


@dataclass(frozen=True)
class Pleat(TakenIn):
    """Folded away at the edge; its lines run `length_mm` square in from it."""

    kind: PleatKind = PleatKind.KNIFE
    length_mm: float = 0.0

    def __str__(self) -> str:
        return f"the {self.kind}"


@dataclass(frozen=True)
class Gather(TakenIn):
    """Drawn together to `into_mm`."""

    into_mm: float = 0.0

    def __str__(self) -> str:
        return "the gather"

    @property
    def sewn_mm(self) -> float:
        return self.into_mm

    def at_share(self, ratio: float) -> Gather:
        """It grows with its edge."""
        return replace(
            self,
            start_mm=self.start_mm * ratio,
            end_mm=self.end_mm * ratio,
            into_mm=self.into_mm * ratio,
        )
