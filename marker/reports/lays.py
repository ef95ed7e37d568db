"""The lays of an order as a cutting room reads them, and their plan as a table.

Each lay says whose marker it uses, how high it gets, what it costs, and which bundles come of it.
"""

from __future__ import annotations

import csv
import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from io import StringIO

from marker.cloth.buying import Purchase, cost_of, purchase
from marker.layout import CheckedLayout, Placement
from marker.layout.bought import is_tied_along
from marker.orders.rolls import Splice
from marker.planning.laid_plan import LaidLay, LaidPlan
from marker.planning.splicing import splices
from marker.reports.layout import bundles
from marker.reports.rolls import PlyRun, ply_runs
from marker.units import MM_PER_UNIT, System, shown
from marker.words import ONE_SIZE, lettered

MOST_TICKETS = 480
"""Bundle tickets of one lay: twenty sheets of paper, and nobody ties on more; no source."""


@dataclass(frozen=True)
class SharedMarker:
    """A marker of a plan, lettered in the order of the lays that it is spread for."""

    letter: str
    checked: CheckedLayout
    lays: tuple[LaidLay, ...]


def shared_markers(plan: LaidPlan) -> tuple[SharedMarker, ...]:
    """The markers of a plan: lays of the same garments on the same cloth share one."""
    lays: dict[int, list[LaidLay]] = {}
    for laid in plan.lays:
        lays.setdefault(id(laid.marker), []).append(laid)
    return tuple(
        SharedMarker(lettered(number), each[0].marker, tuple(each))
        for number, each in enumerate(lays.values(), start=1)
    )


def letters(plan: LaidPlan) -> dict[int, str]:
    """Number of a lay -> the letter of its marker."""
    return {laid.number: each.letter for each in shared_markers(plan) for laid in each.lays}


def ends_mm(laid: LaidLay) -> int:
    """What a ply is longer than its marker, whole mm: both end allowances."""
    return laid.ply_mm - math.ceil(laid.marker.layout.length_mm)


def height_mm(laid: LaidLay) -> float | None:
    """How high the lay gets; None where nobody said how thick the cloth is."""
    layout = laid.marker.layout
    thick = layout.cloth.thickness_mm
    return None if thick is None else thick * laid.lay.height * layout.spread.spreading.plies


def most_plies(laid: LaidLay, blade_reach_mm: float | None) -> int | None:
    """The plies that the blade cuts at once, where the lay is too high for it; else None."""
    height = height_mm(laid)
    if height is None or blade_reach_mm is None or height <= blade_reach_mm:
        return None
    return int(blade_reach_mm * laid.lay.height / height)


def garment_mm(laid: LaidLay) -> float:
    """Cloth that a garment of the lay takes, ends included."""
    return laid.cloth_mm / laid.lay.cut


def cost(laid: LaidLay) -> float | None:
    """Of the cloth of all plies, ends included; None without a price."""
    return cost_of(laid.cloth_mm, laid.marker.layout.cloth)


def bought_by_colour(plan: LaidPlan) -> dict[str, Purchase]:
    """Colour -> what to buy of it for all its plies, their ends included, in one length. Colours
    that nothing is cut from are left out. So is a cloth that comes on rolls."""
    if plan.rolls:
        return {}
    cloth = replace(plan.cloth, end_allowance_mm=0.0)  # each ply has its own already
    tied = any(is_tied_along(laid.marker) for laid in plan.lays)
    plies_mm = {
        colour: sum(laid.lay.plies.get(colour, 0) * laid.ply_mm for laid in plan.lays)
        for colour in plan.order.colours
    }
    return {colour: purchase(mm, cloth, tied) for colour, mm in plies_mm.items() if mm}


def splice_marks(laid: LaidLay) -> tuple[Splice, ...]:
    """Where a ply of the lay may change from one length of cloth to another."""
    return splices(laid.marker, ends_mm(laid) / 2)


@dataclass(frozen=True)
class Ticket:
    """What is tied to a bundle: one garment of the marker out of plies that are alike.

    garment : numbered as on the marker's diagram. run : its plies. rolls : that its pieces are cut
    from, two where they lie on either side of a splice. pieces : of each ply.
    """

    garment: int
    size: str
    run: PlyRun
    rolls: tuple[str, ...]
    pieces: Mapping[str, int]


def count_tickets(plan: LaidPlan, laid: LaidLay) -> int:
    """Bundles of a lay: garments of its marker, times the runs of plies that find cloth."""
    runs = sum(not run.missing for run in ply_runs(plan, laid))
    return runs * len(laid.marker.garments)


def too_many_tickets(many: int) -> str:
    """Why a lay has no tickets."""
    return (
        f"{many} bundles are more than the {MOST_TICKETS} that tickets are written for; fewer "
        "garments a marker, or fewer colours a lay, make fewer bundles"
    )


def tickets(plan: LaidPlan, laid: LaidLay) -> tuple[Ticket, ...]:
    """One for each bundle, garment by garment; none where they are more than MOST_TICKETS."""
    if count_tickets(plan, laid) > MOST_TICKETS:
        return ()
    runs = [run for run in ply_runs(plan, laid) if not run.missing]
    return tuple(
        Ticket(garment, size, run, _rolls_of(laid, garment, run), pieces)
        for garment, size, pieces in bundles(laid.marker)
        for run in runs
    )


def _rolls_of(laid: LaidLay, garment: int, run: PlyRun) -> tuple[str, ...]:
    """The rolls that hold a garment's pieces: those that begin before the splice lie on the first.

    A splice is counted from the start of the ply. But its second cloth begins an end allowance
    before the pieces that it is to hold. So both may be compared.
    """
    if run.splice is None:
        return run.rolls
    first, second = run.rolls
    on = [
        first if _begins(place) < run.splice.from_mm else second
        for place in laid.marker.layout.placements
        if place.garment == garment
    ]
    return tuple(dict.fromkeys(sorted(on, key=run.rolls.index)))


def _begins(place: Placement) -> float:
    return float(place.outline_mm[:, 0].min())


FORMULA = ("=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠")
"""What makes a spreadsheet take a cell for a formula (OWASP, "CSV Injection")."""


def plan_csv(plans: Sequence[LaidPlan]) -> str:
    """The plan as comma-separated values (RFC 4180), a row for each lay of each cloth.

    A row gives its marker, its sizes and the plies of each colour. Lengths are in the unit that the
    heading names, decimals with a point. A name that a spreadsheet would work out as a formula has
    an apostrophe before it.
    """
    return _table(_rows(plans))


def to_buy_csv(plans: Sequence[LaidPlan]) -> str:
    """What to buy, a row for each colour of each cloth, as `plan_csv` writes tables; empty where
    all cloth comes on rolls."""
    unit = "cm" if shown().lead is System.METRIC else "in"
    mm = float(MM_PER_UNIT[unit])
    heads = ["cloth", "colour", f"width ({unit})", f"all plies ({unit})", f"to buy ({unit})"]
    rows: list[list[object]] = [
        [plan.cloth.name, colour, f"{plan.cloth.width_mm / mm:.2f}", f"{each.layout_mm / mm:.2f}",
         f"{each.buy_mm / mm:.2f}", "" if each.cost is None else f"{each.cost:.2f}",
         each.currency or ""]
        for plan in plans
        for colour, each in bought_by_colour(plan).items()
    ]  # fmt: skip
    return _table([[*heads, "cost", "currency"], *rows]) if rows else ""


def _table(rows: Iterable[Sequence[object]]) -> str:
    text = StringIO()
    csv.writer(text).writerows([_as_text(cell) for cell in row] for row in rows)
    return text.getvalue()


def _as_text(cell: object) -> object:
    """A cell that no spreadsheet takes for a formula; figures here are never below 0."""
    return f"'{cell}" if isinstance(cell, str) and cell.startswith(FORMULA) else cell


def _rows(plans: Sequence[LaidPlan]) -> Iterator[list[object]]:
    order = plans[0].order
    unit = "cm" if shown().lead is System.METRIC else "in"
    colours = [colour for colour in order.colours if colour]
    alone = order.sizes == (ONE_SIZE,)
    heads = ["garments in the marker"] if alone else [f"size {size}" for size in order.sizes]
    yield [
        *("cloth", "lay", "marker"),
        *heads,
        *(f"plies {colour}" for colour in colours),
        *("plies", "garments", f"marker length ({unit})", f"ply with ends ({unit})"),
        *(f"cloth ({unit})", f"cloth a garment ({unit})", f"height ({unit})"),
        *("marker efficiency (%)", "cost", "currency", f"for rolls from ({unit})"),
    ]
    for plan in plans:
        named = letters(plan)
        for laid in plan.lays:
            counts = [laid.lay.garments.get(size, 0) for size in order.sizes]
            plies = [laid.lay.plies.get(colour, 0) for colour in colours]
            yield [plan.cloth.name, laid.number, named[laid.number], *counts, *plies,
                   *_figures(laid, float(MM_PER_UNIT[unit]))]  # fmt: skip


def _figures(laid: LaidLay, mm: float) -> Iterator[object]:
    """mm : of one unit."""
    height, price = height_mm(laid), laid.marker.layout.cloth.price
    yield laid.lay.height
    yield laid.lay.cut
    for length in (laid.marker.layout.length_mm, laid.ply_mm, laid.cloth_mm, garment_mm(laid)):
        yield f"{length / mm:.2f}"
    yield "" if height is None else f"{height / mm:.2f}"
    yield f"{100 * laid.marker.utilisation:.1f}"
    amount = cost(laid)
    yield "" if amount is None else f"{amount:.2f}"
    yield price.currency if price else ""
    yield f"{laid.marker.layout.cloth.width_mm / mm:.2f}"
