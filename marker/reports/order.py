"""What `marker order JOB` says: the lays of each cloth, their totals, tickets to cut by."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from marker.cloth.spread import Spreading
from marker.layout import CheckedLayout
from marker.orders.order import Lay
from marker.orders.planning import Tier
from marker.planning.order import LaidLay, LaidPlan, NoPlanOnCloth
from marker.reports.bundles import bundle_lines, bundles
from marker.reports.facts import Mm, Share
from marker.reports.layout import spread_line
from marker.reports.plan import aligned, gap_percent, no_plan_lines, totals_line
from marker.reports.rolls import RollsReport, roll_lines, rolls_report, ticket_lines
from marker.units import length, lengths
from marker.words import counted


@dataclass(frozen=True)
class PieceCount:
    """A piece: how often it lies in the marker, how many the lay cuts."""

    piece: str
    size: str
    in_marker: int
    cut: int


@dataclass(frozen=True)
class Bundle:
    """A garment of the marker, numbered as on its diagram, and its pieces in each ply."""

    garment: int
    size: str
    times: int
    pieces: Mapping[str, int]


@dataclass(frozen=True, kw_only=True)
class LayReport:
    """One lay, lengths in mm. ply_mm : with its end loss. plies_by_colour : None for one colour."""

    plies: int
    plies_by_colour: Mapping[str, int] | None
    garments: Mapping[str, int]
    length_mm: Mm
    ply_mm: int
    cloth_mm: int
    utilisation: Share
    length_lower_bound_mm: Mm
    pieces: tuple[PieceCount, ...]
    bundles: tuple[Bundle, ...]


@dataclass(frozen=True)
class ClothTotals:
    """Of all lays of a cloth."""

    lays: int
    plies: int
    garments: int
    cloth_mm: int


@dataclass(frozen=True, kw_only=True)
class ClothReport:
    """The plan of one cloth. minimised : what decided between plans, as far as it is proven."""

    cloth: str
    spread: Spreading
    lays: tuple[LayReport, ...]
    totals: ClothTotals
    minimised: Tier
    optimal: bool
    rounds: int
    stable: bool
    rolls: RollsReport | None


@dataclass(frozen=True, kw_only=True)
class OrderReport:
    """The plans of all cloths. order_by_colour : None where no colour is named."""

    name: str
    order: Mapping[str, int]
    order_by_colour: Mapping[str, Mapping[str, int]] | None
    cloths: tuple[ClothReport, ...]
    files: tuple[Path, ...]


def order_report(name: str, plans: Sequence[LaidPlan], files: Sequence[Path]) -> OrderReport:
    """The facts of the plans of a job."""
    order = plans[0].order
    by_colour = {colour: sizes for colour, sizes in order.wanted.items() if colour}
    return OrderReport(
        name=name,
        order=order.by_size,
        order_by_colour=by_colour or None,
        cloths=tuple(map(_cloth, plans)),
        files=tuple(files),
    )


def _cloth(plan: LaidPlan) -> ClothReport:
    lays = plan.plan.lays
    height, cut = sum(lay.height for lay in lays), sum(lay.cut for lay in lays)
    several = len(plan.order.colours) > 1
    return ClothReport(
        cloth=plan.cloth.name,
        spread=plan.cloth.spread,
        lays=tuple(_lay(each, several) for each in plan.lays),
        totals=ClothTotals(len(lays), height, cut, plan.cloth_mm),
        minimised=plan.plan.tiers[0],
        optimal=plan.plan.optimal,
        rounds=plan.rounds,
        stable=plan.stable,
        rolls=rolls_report(plan),
    )


def _lay(laid: LaidLay, several_colours: bool) -> LayReport:
    lay, marker = laid.lay, laid.marker
    return LayReport(
        plies=lay.height,
        plies_by_colour=lay.plies if several_colours else None,
        garments=lay.garments,
        length_mm=marker.layout.length_mm,
        ply_mm=laid.ply_mm,
        cloth_mm=laid.cloth_mm,
        utilisation=marker.utilisation,
        length_lower_bound_mm=marker.layout.length_lower_bound_mm,
        pieces=tuple(
            PieceCount(piece, size, number, number * lay.height)
            for (piece, size), number in _pieces(marker).items()
        ),
        bundles=tuple(
            Bundle(garment, size, lay.height, pieces) for garment, size, pieces in bundles(marker)
        ),
    )


def _pieces(marker: CheckedLayout) -> Counter[tuple[str, str]]:
    return Counter((place.piece, place.size) for place in marker.layout.placements)


def order_lines(name: str, plans: Sequence[LaidPlan]) -> Iterator[str]:
    """The plans as tables for a person, with totals and what is proven of them."""
    order = plans[0].order
    for colour, sizes in order.wanted.items():
        wanted = ", ".join(f"{size} {number}" for size, number in sizes.items())
        yield f"{name}, ordered{f' in {colour}' if colour else ''}: {wanted}"
    for plan in plans:
        yield ""
        yield f"From {plan.cloth.name}, {length(plan.cloth.usable_width_mm)} of usable width:"
        yield from _table(plan)
        yield from _totals(plan)
        for laid in plan.lays:
            yield from _spread_lines(plan, laid, f"  lay {laid.number}: ")
        yield from roll_lines(plan)


def no_order_lines(problem: NoPlanOnCloth) -> Iterator[str]:
    """Why there is no plan on a cloth, and the nearest ones."""
    first, *rest = no_plan_lines(problem.problem, problem.order)
    yield f"{problem.cloth}: {first}"
    yield from rest


def problems(plans: Sequence[LaidPlan]) -> Iterator[str]:
    """What keeps the plans from being as asked, though they are there."""
    for plan in plans:
        if not plan.rolls_suffice:
            yield (
                f"the rolls of {plan.cloth.name} do not suffice: the plan says for which plies. "
                f"Add rolls to the job, or order less."
            )
        if plan.lost:
            yield f"{plan.lost} What was laid is kept; some markers have their first layout only."


def _table(plan: LaidPlan) -> Iterator[str]:
    order = plan.order
    colours = order.colours if len(order.colours) > 1 else ()
    rows = [
        ["lay", *order.sizes, *colours, "plies", "marker", "ply with ends", "cloth", "garments"]
    ]
    for laid in plan.lays:
        lay = laid.lay
        of = (length(mm) for mm in (laid.marker.layout.length_mm, laid.ply_mm, laid.cloth_mm))
        counts = (str(lay.garments.get(size, 0)) for size in order.sizes)
        plies = (str(lay.plies.get(colour, 0)) for colour in colours)
        rows.append([str(laid.number), *counts, *plies, str(lay.height), *of, str(lay.cut)])
    yield from aligned(rows)


def _totals(plan: LaidPlan) -> Iterator[str]:
    yield (
        f"  {lengths(plan.cloth_mm)} of cloth in {totals_line(plan.plan.lays, plan.order.garments)}"
    )
    tier = plan.plan.tiers[0]
    takes = "costs less, lays counted in," if tier.what == "cost_mm" else "takes less"
    gap = f", a gap of {gap_percent(tier):.1f} %" if tier.bound < tier.value else ""
    yield (
        f"  no plan of these markers {takes} than {length(tier.bound)}{gap}; a marker not laid "
        "counts as long as estimated"
    )
    settled = "until nothing changed" if plan.stable else "without coming to rest"
    yield f"  planned {counted(plan.rounds, 'time')}, {settled}"


def _colour_lines(plan: LaidPlan, lay: Lay) -> Iterator[str]:
    """Plies of each colour, where there are several."""
    if len(plan.order.colours) > 1:
        yield "          " + ", ".join(f"{plies} {colour}" for colour, plies in lay.plies.items())


def _spread_lines(plan: LaidPlan, laid: LaidLay, start: str) -> Iterator[str]:
    """Which garments are cut together, and how a ply lies; nothing where it lies open."""
    if plan.cloth.spread is not Spreading.OPEN:
        marker = laid.marker
        sizes = Counter(marker.garments).items()
        garments = " and ".join(f"{n} {size}" if n > 1 else size for size, n in sizes)
        together = "together" if len(marker.garments) > 1 else "alone"
        yield f"{start}{garments} {together}, {spread_line(marker)}"


def tickets(name: str, plans: Sequence[LaidPlan]) -> str:
    """A ticket for each lay: what is spread, what is cut and counted, which garments come of it."""
    return "\n".join(
        line for plan in plans for laid in plan.lays for line in _ticket(name, plan, laid)
    )


def _ticket(name: str, plan: LaidPlan, laid: LaidLay) -> Iterator[str]:
    lay, ply = laid.lay, laid.ply_mm
    yield f"{name}, {plan.cloth.name}, lay {laid.number} of {len(plan.lays)}"
    yield (
        f"  spread  {counted(lay.height, 'ply')} of {lengths(ply)}, ends "
        f"included: {length(laid.cloth_mm)}"
    )
    yield from _colour_lines(plan, lay)
    yield from _spread_lines(plan, laid, "          ")
    yield from ticket_lines(plan, laid.number - 1)
    yield "  count   in the marker   cut   piece"
    for (piece, size), count in _pieces(laid.marker).items():
        yield f"  [ ]     {count:13}   {count * lay.height:3}   {piece}, size {size}"
    yield "  bundles, from each ply"
    yield from (f"  [ ] {bundle}" for bundle in bundle_lines(laid.marker))
    yield ""
