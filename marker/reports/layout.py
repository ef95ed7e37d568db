"""What the commands say: the same facts as plain values for JSON and as lines for a person."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from typing import Any

from marker.cloth.buying import Answer, Fit, Purchase
from marker.cloth.fabric import Cloth
from marker.cloth.spread import Spreading
from marker.layout import CheckedLayout
from marker.layout.on_table import on_table
from marker.planning.laid_cloth import LaidCloth
from marker.reports.matches import matching_lines
from marker.units import inches, metric
from marker.words import counted


def layout_lines(laid: LaidCloth) -> Iterator[str]:
    """Length, utilisation, bound and what to buy, as lines for a person."""
    checked = laid.checked
    layout = checked.layout
    cloth = layout.cloth
    count = len(layout.placements)
    remnant = f", remnant '{cloth.remnant.name}'" if cloth.remnant else ""
    yield (
        f"{layout.job_name} on {cloth.name}{remnant}, {metric(cloth.usable_width_mm)} "
        f"({inches(cloth.usable_width_mm)}) of usable width, nap {cloth.nap.value}"
    )
    yield from _washing_lines(cloth)
    if layout.spread.spreading is not Spreading.OPEN:
        yield f"  spread {spread_line(checked)}"
    yield (
        f"  laid   {counted(count, 'piece')}, checked: complete, none overlapping, on grain, "
        "inside the cloth"
    )
    yield (
        f"  length {metric(layout.length_mm)} ({inches(layout.length_mm)}), utilisation "
        f"{100 * checked.utilisation:.1f} %; {layout.stopped_because} after {layout.seconds:.0f} s"
    )
    yield from matching_lines(layout)
    yield (
        f"  bound  no layout at this width can be shorter than "
        f"{metric(layout.length_lower_bound_mm)}, so at most {100 * gap(checked):.1f} % could "
        "still be saved"
    )
    if laid.fit is None:
        yield f"  buy    {_purchase_line(laid.purchase)}"
    else:
        yield f"  have   {fit_line(laid.fit)}"


def fit_line(fits: Fit) -> str:
    """Whether it fits the cloth there is, by how much, and what is proven."""
    have = f"{metric(fits.have_mm)} ({inches(fits.have_mm)}), {metric(fits.needed_mm)} needed"
    by = f"{metric(abs(fits.spare_mm))} ({inches(abs(fits.spare_mm))})"
    if fits.answer is Answer.FITS:
        return f"{have}: it fits, {by} to spare"
    if fits.answer is Answer.IMPOSSIBLE:
        least = metric(fits.least_needed_mm)
        return f"{have}: short by {by}; impossible, no layout needs less than {least}"
    return f"{have}: short by {by}; none that fits was found, which does not prove there is none"


def leftover_lines(left: Sequence[dict[str, Any]]) -> Iterator[str]:
    """The remnants worth keeping, each with the largest rectangles in it, alike ones once, as two
    plies leave them; none without any."""
    alike = Counter(
        tuple((box["along_mm"], box["across_mm"]) for box in one["rectangles"]) for one in left
    )
    for sizes, count in alike.items():
        said = [
            f"{along / 10:.0f} × {across / 10:.0f} cm ({inches(along)} × {inches(across)})"
            for along, across in sizes
        ]
        remnants = "a remnant" if count == 1 else f"{count} remnants, each"
        yield f"  left   {remnants} with {', '.join(said)} (along × across)"


def _washing_lines(cloth: Cloth) -> Iterator[str]:
    """What washing does to cloth or pieces; nothing where no shrinkage is known."""
    left, growth = cloth.shrinkage.of_cloth, cloth.shrinkage.growth
    if left != (1.0, 1.0):
        yield (
            f"  washed before it is cut: {metric(cloth.width_mm)} wide becomes "
            f"{metric(cloth.width_mm * left[1])}, and 1 m of its length {metric(1000 * left[0])}"
        )
    if cloth.shrinkage.grows:
        yield (
            f"  washed after it is cut: pieces are {growth[0]:.4f} times as long along the cloth "
            f"and {growth[1]:.4f} times across it"
        )


def spread_line(checked: CheckedLayout) -> str:
    """How the cloth lies, what is cut at once, and which pieces are cut once more than wanted."""
    layout = checked.layout
    spread, cuts = layout.spread, len(on_table(checked))
    said = spread.spreading.value
    if spread.spreading.plies == 2:
        said += f": {metric(spread.two_ply_mm)} ({inches(spread.two_ply_mm)}) in two plies"
        beyond = layout.length_mm - spread.one_ply_from_mm
        if beyond > layout.cloth.gap_mm:
            said += f", then {metric(beyond)} ({inches(beyond)}) laid open"
    said += f"; {counted(cuts, 'outline')} to cut"
    names = Counter(spare.piece for spare in layout.spares)
    if names:
        spares = ", ".join(f"{count} {name}" for name, count in names.items())
        said += f", {counted(names.total(), 'spare')} ({spares})"
    return said


def gap(checked: CheckedLayout) -> float:
    """How much shorter a layout might still be: 1 - bound ÷ length."""
    return 1 - checked.layout.length_lower_bound_mm / checked.layout.length_mm


def _purchase_line(purchase: Purchase) -> str:
    price = f", {purchase.cost:.2f} {purchase.currency}" if purchase.cost is not None else ""
    repeat = f" + {metric(purchase.repeat_mm)} to whole repeats" if purchase.repeat_mm else ""
    washing = f" + {metric(purchase.shrinkage_mm)} lost in washing" if purchase.shrinkage_mm else ""
    return (
        f"{metric(purchase.buy_mm)} (by the yard {purchase.yards}){price}: layout "
        f"{metric(purchase.layout_mm)} + {metric(purchase.end_allowance_mm)} for the two ends"
        f"{repeat}{washing}, "
        f"sold in steps of {metric(purchase.step_mm)} ({inches(purchase.step_mm)})"
    )
