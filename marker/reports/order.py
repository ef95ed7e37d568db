"""What `marker order JOB` says: the lays of each cloth, their markers, totals and costs."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from marker.cloth.buying import cost_of
from marker.cloth.spread import Spreading
from marker.job import Job
from marker.orders.planning import Tier
from marker.orders.rolls import Splice
from marker.planning.laid_plan import LaidLay, LaidPlan
from marker.planning.order import NoPlanOnCloth
from marker.reports.facts import Mm, Share
from marker.reports.layout import bundles, piece_counts, spread_line
from marker.reports.lays import (
    MOST_TICKETS,
    bought_by_colour,
    cost,
    count_tickets,
    garment_mm,
    height_mm,
    letters,
    most_plies,
    shared_markers,
    splice_marks,
    too_many_tickets,
)
from marker.reports.plan import aligned, gap_percent, no_plan_lines, tier_line, totals_line
from marker.reports.rolls import PlyRun, RollsReport, ply_runs, roll_lines, rolls_report
from marker.reports.yardage import amount_words, asked_words, price_words
from marker.units import cloth_length, cloth_lengths, cut_length, lengths, step_length
from marker.words import counted, garment_counts, size_headings


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
    """One lay, lengths in mm. marker : its letter; lays of the same garments share one. ply_mm :
    with its end loss. plies_by_colour : None for one colour. garment_mm : cloth that a garment
    takes, ends included. height_mm : None where the cloth's thickness is not known. most_plies :
    that the blade cuts at once, where the lay is too high for it. cost : None without a price.
    ply_runs : from the table up. splices : marks where a ply may change from one length of cloth to
    another. tickets : bundles to be tied, each with a ticket unless they are too many.
    """

    marker: str
    plies: int
    plies_by_colour: Mapping[str, int] | None
    garments: Mapping[str, int]
    length_mm: Mm
    ply_mm: int
    cloth_mm: int
    garment_mm: Mm
    height_mm: Mm | None
    most_plies: int | None
    cost: float | None
    utilisation: Share
    length_lower_bound_mm: Mm
    pieces: tuple[PieceCount, ...]
    bundles: tuple[Bundle, ...]
    ply_runs: tuple[PlyRun, ...]
    splices: tuple[Splice, ...]
    tickets: int


@dataclass(frozen=True)
class ClothTotals:
    """Of all lays of a cloth. cost : None without a price."""

    lays: int
    markers: int
    plies: int
    garments: int
    cloth_mm: int
    cost: float | None
    currency: str | None


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


def order_report(job: Job, plans: Sequence[LaidPlan], files: Sequence[Path]) -> OrderReport:
    """The facts of the plans of a job."""
    order = plans[0].order
    by_colour = {colour: sizes for colour, sizes in order.wanted.items() if colour}
    return OrderReport(
        name=job.name,
        order=order.by_size,
        order_by_colour=by_colour or None,
        cloths=tuple(_cloth(plan, job.blade_reach_mm) for plan in plans),
        files=tuple(files),
    )


def _cloth(plan: LaidPlan, blade_mm: float | None) -> ClothReport:
    named = letters(plan)
    several = len(plan.order.colours) > 1
    return ClothReport(
        cloth=plan.cloth.name,
        spread=plan.cloth.spread,
        lays=tuple(_lay(plan, each, named[each.number], blade_mm, several) for each in plan.lays),
        totals=_totals_of(plan),
        minimised=plan.plan.tiers[0],
        optimal=plan.plan.optimal,
        rounds=plan.rounds,
        stable=plan.stable,
        rolls=rolls_report(plan),
    )


def _totals_of(plan: LaidPlan) -> ClothTotals:
    lays, price = plan.plan.lays, plan.cloth.price
    return ClothTotals(
        lays=len(lays),
        markers=len(shared_markers(plan)),
        plies=sum(lay.height for lay in lays),
        garments=sum(lay.cut for lay in lays),
        cloth_mm=plan.cloth_mm,
        cost=cost_of(plan.cloth_mm, plan.cloth),
        currency=price.currency if price else None,
    )


def _lay(
    plan: LaidPlan, laid: LaidLay, letter: str, blade_mm: float | None, several_colours: bool
) -> LayReport:
    lay, marker = laid.lay, laid.marker
    return LayReport(
        marker=letter,
        plies=lay.height,
        plies_by_colour=lay.plies if several_colours else None,
        garments=lay.garments,
        length_mm=marker.layout.length_mm,
        ply_mm=laid.ply_mm,
        cloth_mm=laid.cloth_mm,
        garment_mm=garment_mm(laid),
        height_mm=height_mm(laid),
        most_plies=most_plies(laid, blade_mm),
        cost=cost(laid),
        utilisation=marker.utilisation,
        length_lower_bound_mm=marker.layout.length_lower_bound_mm,
        pieces=tuple(
            PieceCount(piece, size, number, number * lay.height)
            for (piece, size), number in piece_counts(marker).items()
        ),
        bundles=tuple(
            Bundle(garment, size, lay.height, pieces) for garment, size, pieces in bundles(marker)
        ),
        ply_runs=ply_runs(plan, laid),
        splices=splice_marks(laid),
        tickets=count_tickets(plan, laid),
    )


def order_lines(job: Job, plans: Sequence[LaidPlan]) -> Iterator[str]:
    """The plans as tables for a person, with totals and what is proven of them."""
    order = plans[0].order
    for colour, sizes in order.wanted.items():
        wanted = garment_counts(sizes)
        yield f"{job.name}, ordered{f' in {colour}' if colour else ''}: {wanted or 'none'}"
    for plan in plans:
        yield ""
        yield f"From {plan.cloth.name}, {cut_length(plan.cloth.usable_width_mm)} of usable width:"
        yield from _table(plan)
        yield from _totals(plan)
        yield from (f"  {line}" for line in to_buy_lines(plan))
        yield from _compared_lines(plan)
        for laid in plan.lays:
            yield from _width_lines(plan, laid)
            yield from _spread_lines(plan, laid, f"  lay {laid.number}: ")
            yield from _warnings(plan, laid, job.blade_reach_mm)
        yield from roll_lines(plan)


def to_buy_lines(plan: LaidPlan) -> Iterator[str]:
    """What to buy of each colour, as a shop cuts it; nothing of a cloth that comes on rolls."""
    bought = bought_by_colour(plan)
    for colour, each in bought.items():
        price = f", {price_words(each)}" if each.cost is not None else ""
        of = f"{plan.cloth.name}, {colour}" if colour else plan.cloth.name
        yield f"buy {asked_words(each.buy_mm, each.yards, named=True)} of {of}{price}"
    paid = [each.cost for each in bought.values() if each.cost is not None]
    currency = plan.cloth.price.currency if plan.cloth.price else ""
    whole = f", {amount_words(sum(paid), currency)} in all" if len(paid) > 1 else ""
    if bought:
        yield f"sold in steps of {step_length(plan.cloth.sold_by_mm)}{whole}"


def written_line(plans: Sequence[LaidPlan], folder: Path, *, drawn: bool) -> str:
    """What was written, and where. drawn : the lay sheets, too."""
    lays = counted(sum(len(plan.lays) for plan in plans), "lay sheet")
    sheets = f"{lays} with bundle tickets (pdf), " if drawn else ""
    markers = counted(sum(len(shared_markers(plan)) for plan in plans), "marker")
    tables = "plan.csv and to-buy.csv" if any(map(bought_by_colour, plans)) else "plan.csv"
    kinds = "json, with diagrams" if drawn else "json"
    return f"wrote  {folder}: {tables}, {sheets}{markers} ({kinds})"


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
        ["lay", "marker", *size_headings(order.sizes, "in marker"), *colours, "plies", "length",
         "ply with ends", "cloth", "garments"]
    ]  # fmt: skip
    named = letters(plan)
    for laid in plan.lays:
        lay = laid.lay
        of = (
            cut_length(laid.marker.layout.length_mm),
            cut_length(laid.ply_mm),
            cloth_length(laid.cloth_mm),
        )
        counts = (str(lay.garments.get(size, 0)) for size in order.sizes)
        plies = (str(lay.plies.get(colour, 0)) for colour in colours)
        which = [str(laid.number), named[laid.number]]
        rows.append([*which, *counts, *plies, str(lay.height), *of, str(lay.cut)])
    yield from aligned(rows)


def _totals(plan: LaidPlan) -> Iterator[str]:
    price, amount = plan.cloth.price, cost_of(plan.cloth_mm, plan.cloth)
    paid = f", {amount_words(amount, price.currency)}" if price and amount is not None else ""
    yield (
        f"  {cloth_lengths(plan.cloth_mm)} of cloth{paid}, in "
        f"{totals_line(plan.plan.lays, plan.order.garments)}"
    )
    if not plan.costs.only_cloth:
        yield _costs(plan)
    yield _proven(plan)
    settled = "until nothing changed" if plan.stable else "without coming to rest"
    yield f"  planned {counted(plan.rounds, 'time')}, {settled}"


def _costs(plan: LaidPlan) -> str:
    """What the plan costs, as a sum of what it is made of."""
    lays, costs = plan.plan.lays, plan.costs
    markers = len(shared_markers(plan))
    parts = {
        "cloth": plan.cloth_mm,
        "spreading": costs.ply_cost_mm * sum(lay.height for lay in lays),
        "lays": costs.lay_cost_mm * len(lays),
        counted(markers, "marker"): costs.marker_cost_mm * markers,
    }
    said = ", ".join(f"{name} {_worth(plan, mm)}" for name, mm in parts.items() if mm)
    return f"  costs {_worth(plan, sum(parts.values()))}: {said}"


def _worth(plan: LaidPlan, mm: float) -> str:
    """So much of the cloth in money, where it has a price."""
    price, amount = plan.cloth.price, cost_of(mm, plan.cloth)
    return (
        cloth_length(mm)
        if price is None or amount is None
        else amount_words(amount, price.currency)
    )


def _proven(plan: LaidPlan) -> str:
    """What no plan does better, and how near this one is."""
    tier = plan.plan.tiers[0]
    gap = f", a gap of {gap_percent(tier):.1f} %" if tier.bound < tier.value else ""
    which, how = "no plan of these markers", "a marker not laid counts as long as estimated"
    if plan.by_area:
        which, how = "no plan", "so much the area of the garments takes of the widest rolls"
    match tier.what:
        case "cost_mm":
            return f"  {which} costs less than {_worth(plan, tier.bound)}{gap}; {how}"
        case "cloth_mm":
            least = cloth_length(tier.bound)
            return f"  {which} takes less than {least}{gap}; {how}"
        case _:
            return tier_line(tier)


def _compared_lines(plan: LaidPlan) -> Iterator[str]:
    """What markers for the narrowest roll, and for each width, cost when they were compared; of
    ways that differ in nothing but shares, the best."""
    told = {tuple(each.colours.items()): each for each in reversed(plan.compared)}
    if len(told) < 2:
        return
    yield "  markers for rolls of these widths and wider were compared, before the last search:"
    several = len(plan.order.colours) > 1
    for each in reversed(told.values()):
        widths = " and ".join(
            cloth_length(width) + (f" for {', '.join(colours)}" if several else "")
            for width, colours in each.colours.items()
        )
        cost = f"{_worth(plan, each.cost_mm)} in {counted(each.lays, 'lay')}"
        short = f", {cloth_length(each.missing_mm)} wanting" if each.missing_mm else ""
        chosen = "chosen: " if each is plan.compared[0] else ""
        yield f"    {chosen}{widths}: {cost}{short}"


def _width_lines(plan: LaidPlan, laid: LaidLay) -> Iterator[str]:
    """How wide the rolls are that a marker is laid for, where that is not as wide as the cloth."""
    width = laid.marker.layout.cloth.width_mm
    if width != plan.cloth.width_mm:
        yield f"  lay {laid.number}: its marker is for rolls from {cloth_length(width)} of width on"


def _spread_lines(plan: LaidPlan, laid: LaidLay, start: str) -> Iterator[str]:
    """Which garments are cut together, and how a ply lies; nothing where it lies open."""
    if plan.cloth.spread is not Spreading.OPEN:
        marker = laid.marker
        garments = garment_counts(Counter(marker.garments))
        together = "together" if len(marker.garments) > 1 else "alone"
        yield f"{start}{garments} {together}, {spread_line(marker)}"


def _warnings(plan: LaidPlan, laid: LaidLay, blade_mm: float | None) -> Iterator[str]:
    """A lay that the blade does not go through, and bundles that get no tickets."""
    most, height = most_plies(laid, blade_mm), height_mm(laid)
    if most is not None and height is not None and blade_mm is not None:
        yield (
            f"  lay {laid.number}: {lengths(height)} high, but the blade reaches "
            f"{lengths(blade_mm)}: plan with --max-plies {most}"
        )
    many = count_tickets(plan, laid)
    if many > MOST_TICKETS:
        yield f"  lay {laid.number}: {too_many_tickets(many)}"
