"""The sheet of a lay: all that a cutting room wants in hand while it spreads and cuts one lay."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass

from marker.cloth.fabric import Cloth, Nap
from marker.cloth.spread import Spreading
from marker.drawing.in_little import SmallLayout, small_layout
from marker.drawing.scene.layout_scene import Scene
from marker.drawing.scene.spread_sketch import SpreadSketch, spread_sketch
from marker.drawing.scene.title_facts import Fact, gap_words
from marker.orders.rolls import Splice
from marker.planning.laid_plan import LaidLay, LaidPlan
from marker.reports.layout import piece_counts
from marker.reports.lays import (
    SharedMarker,
    Ticket,
    cost,
    count_tickets,
    ends_mm,
    garment_mm,
    height_mm,
    most_plies,
    splice_marks,
    tickets,
    too_many_tickets,
)
from marker.reports.rolls import PlyRun, left_after, ply_runs
from marker.reports.yardage import amount_words
from marker.units import (
    cloth_length,
    cut_length,
    cut_length_up,
    cut_lengths,
    length,
    percent,
)
from marker.words import BLADES, CORDS, counted, garment_counts

BESIDE, ALONE = (106.0, 68.0), (186.0, 76.0)  # room for the picture, paper mm
LONG = 2.6  # a marker so many times longer than wide is drawn over the whole page
TO_FILL_IN = "_________"
HEIGHT = (
    "Measure the lay before you cut it: none may be higher than the blade reaches. Only those cut "
    "who are trained for the machine."
)
"""Common practice, no source."""


@dataclass(frozen=True)
class PlyRow:
    """A run of plies. source : what they are cut from, '' to be filled in. left : of the roll once
    this lay is spread, '' where that is not known."""

    run: PlyRun
    source: str
    left: str


@dataclass(frozen=True)
class CountRow:
    """A piece in one size: how often it lies in the marker, on how many plies."""

    piece: str
    size: str
    in_marker: int
    plies: int

    @property
    def cut(self) -> int:
        """How many come of it."""
        return self.in_marker * self.plies


@dataclass(frozen=True)
class LaySheet:
    """One lay's sheet. sketch : of two plies, where the cloth lies in two.

    sizes : the ratio of the marker, and the plies of each colour. splices : marks from the start of
    the ply. spares : what is cut besides and not wanted, '' for nothing. tickets : of its bundles;
    none where they are too many, then `untied` says so.
    """

    order: str
    which: str
    cloth: str
    facts: tuple[Fact, ...]
    sizes: str
    sketch: SpreadSketch | None
    picture: SmallLayout
    splices: tuple[Splice, ...]
    steps: tuple[str, ...]
    plies: tuple[PlyRow, ...]
    counts: tuple[CountRow, ...]
    tickets: tuple[Ticket, ...]
    spares: str
    cautions: tuple[str, ...]
    untied: str = ""


def build_lay_sheet(
    plan: LaidPlan,
    shared: SharedMarker,
    laid: LaidLay,
    scene: Scene,
    blade_mm: float | None,
    *,
    ties: bool,
) -> LaySheet:
    """The sheet of one lay.

    shared : its marker, scene : what is drawn of that. blade_mm : the highest lay that is cut, None
    where nobody said. ties : strips that finish nothing lie in it.
    """
    cloth, height, spread = plan.cloth, laid.lay.height, shared.checked.layout.spread
    many = count_tickets(plan, laid)
    found = tickets(plan, laid)
    return LaySheet(
        order=scene.job_name,
        which=f"lay {laid.number} of {len(plan.lays)} · marker {shared.letter}",
        cloth=cloth.name,
        facts=tuple(_facts(laid, blade_mm)),
        sizes=_sizes(laid),
        sketch=spread_sketch(spread) if spread.spreading.plies == 2 else None,
        picture=small_layout(scene, ALONE if scene.length_mm > LONG * scene.width_mm else BESIDE),
        splices=splice_marks(laid),
        steps=tuple(_steps(laid, bool(plan.rolls))),
        plies=tuple(_ply_row(plan, laid, run) for run in ply_runs(plan, laid)),
        counts=tuple(
            CountRow(piece, size, count, height)
            for (piece, size), count in piece_counts(laid.marker).items()
        ),
        tickets=found,
        spares=_spares(laid),
        cautions=(HEIGHT, BLADES, *([CORDS] if ties else [])),
        untied="" if found else too_many_tickets(many),
    )


def _sizes(laid: LaidLay) -> str:
    ratio = garment_counts(laid.lay.garments)
    plies = ", ".join(f"{count} {colour}" for colour, count in laid.lay.plies.items() if colour)
    return f"In the marker {ratio}." + (f" Plies by colour {plies}." if plies else "")


def _spares(laid: LaidLay) -> str:
    names = Counter(spare.piece for spare in laid.marker.layout.spares)
    found = ", ".join(f"{count * laid.lay.height} {name}" for name, count in names.items())
    return f"Cut besides through the lower ply, and not wanted: {found}." if found else ""


def _facts(laid: LaidLay, blade_mm: float | None) -> Iterator[Fact]:
    layout, lay = laid.marker.layout, laid.lay
    cloth = layout.cloth
    garments = counted(sum(lay.garments.values()), "garment")
    yield Fact("plies", str(lay.height), f"{garments} in the marker, {lay.cut} cut")
    folded = f"{cut_length(layout.spread.two_ply_mm)} of the table, in two plies"
    along = folded if layout.spread.spreading.ends_meet else "from the start line to the last"
    yield Fact("marker length", cut_length(layout.length_mm), along)
    ends = f"ends of {length(ends_mm(laid) / 2)} included"
    yield Fact("spread every ply", cut_length_up(laid.ply_mm), ends)
    yield Fact("cloth of the lay", cloth_length(laid.cloth_mm), "all plies, ends included")
    usable, whole = cut_length(cloth.usable_width_mm), cut_lengths(cloth.width_mm)
    yield Fact("usable width", usable, f"of {whole}")
    yield Fact("spread", str(layout.spread.spreading), _face(layout.spread.spreading))
    yield Fact("nap", str(cloth.nap), gap_words(cloth))
    yield _height(laid, blade_mm)
    share = percent(laid.marker.utilisation)
    yield Fact("marker efficiency", share, "of length × usable width")
    mean = "mean of the sizes, " if len(lay.garments) > 1 else ""
    yield Fact("cloth a garment", length(garment_mm(laid)), f"{mean}ends included")
    amount = cost(laid)
    if cloth.price is not None and amount is not None:
        each = amount_words(amount / lay.cut, cloth.price.currency)
        yield Fact("cost of cloth", amount_words(amount, cloth.price.currency), f"{each} a garment")


def _face(spreading: Spreading) -> str:
    if spreading is Spreading.TUBE:
        return "flat, as it comes"
    return "face up" if spreading.plies == 1 else "right sides together"


def _height(laid: LaidLay, blade_mm: float | None) -> Fact:
    height, thick = height_mm(laid), laid.marker.layout.cloth.thickness_mm
    reach = "the blade's reach" if blade_mm is None else f"the blade reaches {length(blade_mm)}"
    if height is None or thick is None:
        return Fact("height of the lay", TO_FILL_IN, f"measure it; {reach}")
    most = most_plies(laid, blade_mm)
    if most is not None:
        return Fact("TOO HIGH", cut_length(height), f"{reach}: {counted(most, 'ply')} at most")
    detail = f"{reach} {TO_FILL_IN}" if blade_mm is None else reach
    return Fact("height of the lay", cut_length(height), detail)


def _steps(laid: LaidLay, on_rolls: bool) -> Iterator[str]:
    """Order of work; common practice, no source."""
    layout, many = laid.marker.layout, laid.lay.height > 1
    cloth, spread = layout.cloth, layout.spread
    rest = " Let it rest off the roll first: it stretches." if cloth.gauge else ""
    flat = cloth.usable_width_mm / 2 if cloth.tube else cloth.usable_width_mm
    how = "as the tube lies flat" if cloth.tube else "between the selvages"
    yield (
        f"Measure the cloth's width along every roll. The marker needs {cut_length(flat)} {how}."
        f"{rest}"
    )
    straight = " and the near edges one above the other" if many else ""
    yield (
        f"Spread {counted(laid.lay.height, 'ply')} of {cut_lengths(laid.ply_mm)}, "
        f"{'each ' if many else ''}{spread_sketch(spread).words}. Keep the ends straight{straight},"
        f" without tension. {_way(cloth, spread.spreading) if many else ''}"
    )
    if many and (cloth.repeat.along or cloth.repeat.across):
        yield "Lay the stripes of every ply on those of the ply below, and pin them."
    if many:
        kept = "keep to the rolls in the list" if on_rolls else "write down the roll of every ply"
        yield f"Number the plies from the table up, and {kept}."
    yield (
        "Where a roll ends or a fault is cut out, end the cloth and begin the next at a splice "
        "mark, the one lapped over the other."
        if splice_marks(laid)
        else "This marker can't be spliced: cut a ply that ends too soon off, and spread it anew."
    )
    if many:
        yield "Count the plies of each colour, and measure how high the lay is. Only then cut."
    yield (
        "Count the pieces. Tie each bundle with its ticket before the next is lifted. A garment "
        "keeps to one ply, so that its shade agrees."
    )


def _way(cloth: Cloth, spreading: Spreading) -> str:
    """Which way the plies run."""
    if cloth.nap is Nap.ONE_WAY:
        return "All plies run the same way: cut each off and carry the cloth back to the start."
    if spreading.plies == 1:
        return "A ply may run either way, its right side up."
    return "A ply may run either way."


def _ply_row(plan: LaidPlan, laid: LaidLay, run: PlyRun) -> PlyRow:
    if run.missing:
        return PlyRow(run, "no cloth on the rolls", "")
    source = run.rolls[0] if run.rolls else ""
    if run.splice is not None:
        lap = f"{cut_length(run.splice.from_mm)} to {cut_length_up(run.splice.reach_mm)}"
        source = f"{run.rolls[0]}, lapped by {run.rolls[1]} from {lap}"
    ends = [cloth_length(left_after(plan, roll, laid.number)) for roll in run.rolls]
    return PlyRow(run, source, ", ".join(ends))
