"""The tables of layout.json: what a checked layout says of itself, in plain numbers.

One model writes the file and reads it. Lengths are in mm, those of the layout to four decimals.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import asdict
from functools import partial
from typing import Annotated, Any

import numpy as np
from pydantic import BaseModel, BeforeValidator, ConfigDict, Field

from marker.cloth.buying import Fit, Purchase
from marker.cloth.fabric import Cloth
from marker.cloth.folding import fold_lines
from marker.cloth.leftover import Remaining
from marker.cloth.spread import Spreading
from marker.cloth.stock import Remnant
from marker.files.budget import Most
from marker.files.values import choice
from marker.geometry.arrays import FloatArray
from marker.layout import CheckedLayout, Placement
from marker.layout.on_table import on_table

FORMAT = 1
FOR_OTHERS = ("buy", "have", "leftovers")
"""Keys that other programs may read; they are not read again here."""

_PLACES = 4  # of a millimetre

_FURTHEST = 1e6  # mm or degrees: a kilometre
_MOST_COUNTED = 2_000  # garments or copies
_MOST_PLIES = 100_000  # as many as the largest order has garments

Number = Annotated[float, Field(allow_inf_nan=False, ge=-_FURTHEST, le=_FURTHEST)]
NotBelowZero = Annotated[Number, Field(ge=0)]
Count = Annotated[int, Field(ge=1, le=_MOST_COUNTED)]
Points = list[Annotated[list[Number], Field(min_length=2, max_length=2)]]


class _Table(BaseModel):
    """A part of the file; keys that it does not know are left alone."""

    model_config = ConfigDict(strict=True, frozen=True, populate_by_name=True)


class ShrinkageTable(_Table):
    """Shares that washing takes, and whether the cloth is cut before it."""

    along: Number
    across: Number
    cut: str


class BarsTable(_Table):
    """How often the cloth's pattern comes again on one axis."""

    every_mm: Number
    begins_mm: Number
    even: bool


class RepeatTable(_Table):
    """The cloth's pattern along and across it."""

    along: BarsTable | None
    across: BarsTable | None


class BorderTable(_Table):
    """A border print along one side of the cloth."""

    side: str
    line_mm: Number


class FlawTable(_Table):
    """A place that nothing may lie on."""

    name: str
    outline_mm: Points


class RemnantTable(_Table):
    """The odd-shaped cloth that the layout lies on."""

    name: str
    outline_mm: Points = []
    holes_mm: list[Points] = []


class ClothTable(_Table):
    """The cloth as laid; a reader takes all but its name, spread and remnant from the job."""

    name: str
    usable_width_mm: Number = 0.0
    nap: str = ""
    shrinkage: ShrinkageTable | None = None
    repeat: RepeatTable | None = None
    border: BorderTable | None = None
    spread: Annotated[Spreading, BeforeValidator(partial(choice, Spreading))]
    flaws: list[FlawTable] = []
    remnant: RemnantTable | None = None


class FoldingTable(_Table):
    """How the cloth is folded again, and how many outlines are then cut."""

    folds_along_mm: list[Number] = []
    fold_across_mm: Number | None = None
    two_ply_mm: NotBelowZero = 0.0
    one_ply_from_mm: Number = 0.0
    cuts: int = 0


class PlacementTable(_Table):
    """One piece where it lies.

    number : on the diagram, where it was numbered before it was moved there; else numbers go along
    the cloth.
    """

    piece: str
    size: str
    garment: Count
    copy_: Annotated[int, Field(ge=1, le=_MOST_COUNTED, alias="copy")]
    rotation_deg: Number
    mirrored: bool
    x_mm: Number
    y_mm: Number
    outline_mm: Annotated[Points, Field(min_length=3)]
    number: Annotated[int, Field(ge=1, le=Most.PLACEMENTS.most)] | None = None

    @classmethod
    def of(cls, placement: Placement) -> PlacementTable:
        """The table of a placement."""
        return cls(
            piece=placement.piece,
            size=placement.size,
            garment=placement.garment,
            copy_=placement.copy,
            rotation_deg=_rounded(placement.rotation_deg),
            mirrored=placement.mirrored,
            x_mm=_rounded(placement.x_mm),
            y_mm=_rounded(placement.y_mm),
            outline_mm=_points(placement.outline_mm),
            **({"number": placement.number} if placement.number else {}),
        )

    def placement(self) -> Placement:
        """The placement that the table says."""
        return Placement(
            piece=self.piece,
            size=self.size,
            garment=self.garment,
            copy=self.copy_,
            rotation_deg=self.rotation_deg,
            mirrored=self.mirrored,
            x_mm=self.x_mm,
            y_mm=self.y_mm,
            outline_mm=np.array(self.outline_mm, dtype=np.float64),
            number=self.number or 0,
        )


Placed = Annotated[list[PlacementTable], Field(max_length=Most.PLACEMENTS.most)]


class BuyTable(_Table):
    """What to buy: each addend, the length, and two texts for the shop."""

    layout_mm: float
    end_allowance_mm: float
    repeat_mm: float
    shrinkage_mm: float
    needed_mm: float
    step_mm: float
    buy_mm: float
    cost: float | None
    currency: str | None
    rounding_mm: float
    short_by_mm: float
    buy_text_metric: str
    buy_text_yards: str

    @classmethod
    def of(cls, bought: Purchase) -> BuyTable:
        """The table of a purchase."""
        return cls(
            **asdict(bought),
            rounding_mm=bought.rounding_mm,
            short_by_mm=bought.short_by_mm,
            buy_text_metric=bought.metric,
            buy_text_yards=bought.yards,
        )


class HaveTable(_Table):
    """Whether the layout fits the cloth there is."""

    have_mm: float
    needed_mm: float
    least_needed_mm: float
    spare_mm: float
    answer: str

    @classmethod
    def of(cls, found: Fit) -> HaveTable:
        """The table of what a layout needs of the cloth there is."""
        return cls(
            have_mm=round(found.have_mm, _PLACES),
            needed_mm=round(found.needed_mm, _PLACES),
            least_needed_mm=round(found.least_needed_mm, _PLACES),
            spare_mm=round(found.spare_mm, _PLACES),
            answer=found.answer.value,
        )


class RectangleTable(_Table):
    """A rectangle that is left: its low corner, and how long and wide it is."""

    x_mm: float
    y_mm: float
    along_mm: float
    across_mm: float

    @classmethod
    def of(cls, box: FloatArray) -> RectangleTable:
        """The table of a low and a high corner, (2, 2)."""
        (x, y), (along, across) = np.round([box[0], box[1] - box[0]], 2).tolist()
        return cls(x_mm=x, y_mm=y, along_mm=along, across_mm=across)


class LeftoverTable(_Table):
    """A remnant that is left, and the largest rectangles in it."""

    area_mm2: float
    rectangles: list[RectangleTable]
    outline_mm: Points
    holes_mm: list[Points]

    @classmethod
    def of(cls, left: Remaining) -> LeftoverTable:
        """The table of what is left in one piece."""
        return cls(
            area_mm2=round(left.area_mm2, 1),
            rectangles=[RectangleTable.of(box) for box in left.rectangles],
            outline_mm=np.round(left.outline, 2).tolist(),
            holes_mm=[np.round(hole, 2).tolist() for hole in left.holes],
        )


class LayTable(_Table):
    """The lay of an order that the layout is the marker of.

    garments : size -> garments in it.
    """

    plies: Annotated[int, Field(ge=1, le=_MOST_PLIES)] = 1
    garments: Annotated[dict[str, Count], Field(min_length=1)]


class LayoutTable(_Table):
    """All that is said of a layout, in its file and by the command that laid it.

    together : names of the layout files that hold the job's pieces from this cloth between them.
    buy, have, leftovers : for other readers; the purchase, whether it fits what there is, remnants.
    """

    format: int
    name: str
    cloth: ClothTable
    folding: FoldingTable = FoldingTable()
    length_mm: Annotated[Number, Field(gt=0)]
    utilisation: Number = 0.0
    length_lower_bound_mm: NotBelowZero
    unmatched_mm: NotBelowZero | None = None
    matching_mm: Number = 0.0
    stopped_because: str
    seed: int
    seconds: NotBelowZero
    placements: Annotated[Placed, Field(min_length=1)]
    spares: Placed = []
    buy: BuyTable | None = None
    have: HaveTable | None = None
    leftovers: list[LeftoverTable] | None = None
    together: Annotated[list[str], Field(max_length=Most.COMPANIONS.most)] = []
    lay: LayTable | None = None

    @classmethod
    def of(cls, checked: CheckedLayout, buy: Purchase | None) -> LayoutTable:
        """The table of a checked layout and of the cloth to buy for it."""
        layout = checked.layout
        return cls(
            format=FORMAT,
            name=layout.job_name,
            cloth=_cloth(layout.cloth, layout.spread.spreading),
            folding=_folding(checked),
            length_mm=_rounded(layout.length_mm),
            utilisation=round(checked.utilisation, 6),
            length_lower_bound_mm=_rounded(layout.length_lower_bound_mm),
            unmatched_mm=None if layout.unmatched_mm is None else _rounded(layout.unmatched_mm),
            matching_mm=_rounded(layout.matching_mm),
            stopped_because=layout.stopped_because.value,
            seed=layout.seed,
            seconds=round(layout.seconds, 3),
            placements=[PlacementTable.of(placement) for placement in layout.placements],
            spares=[PlacementTable.of(spare) for spare in layout.spares],
            buy=None if buy is None else BuyTable.of(buy),
        )

    def on_hand(self, fits: Fit | None, left: Sequence[Remaining]) -> LayoutTable:
        """With whether it fits the cloth there is, None where it is bought, and what is left."""
        have = None if fits is None else HaveTable.of(fits)
        leftovers = [LeftoverTable.of(one) for one in left]
        return self.model_copy(update={"have": have, "leftovers": leftovers})

    def with_others(self, names: Sequence[str]) -> LayoutTable:
        """With the names of the layout files that are judged together with it, its own included."""
        return self.model_copy(update={"together": list(names)})

    def of_lay(self, plies: int, garments: Mapping[str, int]) -> LayoutTable:
        """As the marker of a lay of so many plies with these garments, size -> number."""
        return self.model_copy(update={"lay": LayTable(plies=plies, garments=dict(garments))})

    def as_json(self) -> dict[str, Any]:
        """What is known of it as JSON-ready values, in the order of the file."""
        return self.model_dump(mode="json", by_alias=True, exclude_unset=True)


class FileTable(LayoutTable):
    """The whole file.

    job : the way to the job file from where the layout stands. job_digest : of what that said.
    """

    job: Annotated[str, Field(min_length=1)]
    job_digest: str = ""


def _cloth(cloth: Cloth, spreading: Spreading) -> ClothTable:
    return ClothTable(
        name=cloth.name,
        usable_width_mm=_rounded(cloth.usable_width_mm),
        nap=cloth.nap.value,
        shrinkage=ShrinkageTable(**asdict(cloth.shrinkage)),
        repeat=RepeatTable.model_validate(asdict(cloth.repeat)),
        border=None if cloth.border is None else BorderTable(**asdict(cloth.border)),
        spread=spreading,
        flaws=[FlawTable(name=each.name, outline_mm=_points(each.outline)) for each in cloth.flaws],
        remnant=None if cloth.remnant is None else _remnant(cloth.remnant),
    )


def _remnant(remnant: Remnant) -> RemnantTable:
    return RemnantTable(
        name=remnant.name,
        outline_mm=_points(remnant.outline),
        holes_mm=[_points(hole) for hole in remnant.holes],
    )


def _folding(checked: CheckedLayout) -> FoldingTable:
    spread = checked.layout.spread
    crosswise = spread.spreading is Spreading.FOLDED_CROSSWISE
    return FoldingTable(
        folds_along_mm=[_rounded(y) for y in fold_lines(spread, checked.layout.cloth)],
        fold_across_mm=_rounded(spread.two_ply_mm) if crosswise else None,
        two_ply_mm=_rounded(spread.two_ply_mm),
        one_ply_from_mm=_rounded(spread.one_ply_from_mm),
        cuts=len(on_table(checked)),
    )


def _rounded(value: float) -> float:
    if not math.isfinite(value):
        raise ValueError(f"a layout can't hold {value}")
    return round(float(value), _PLACES) + 0.0  # never -0.0


def _points(points: FloatArray) -> list[list[float]]:
    return [[_rounded(x), _rounded(y)] for x, y in points]
