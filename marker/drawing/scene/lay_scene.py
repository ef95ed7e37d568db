"""What a diagram shows of a marker of an order: whose lays' it is, and the cloth of all plies."""

from __future__ import annotations

from dataclasses import replace

from marker.cloth.buying import cost_of, purchase
from marker.drawing.scene.layout_scene import Scene, build_scene
from marker.drawing.scene.title_facts import Fact, title_facts
from marker.job import Reader
from marker.layout.bought import leftovers
from marker.reports.lays import SharedMarker, ends_mm
from marker.reports.yardage import amount_words
from marker.units import cloth_length, cut_length, length
from marker.words import counted


def lay_scene(shared: SharedMarker, count: int) -> Scene:
    """The scene of a marker, its figures those of all lays that are spread under it.

    count : of the lays of this cloth.
    """
    checked, first = shared.checked, shared.lays[0]
    cloth = checked.layout.cloth
    if cloth.repeat.along is None:  # else the ends also hold what is left of the last repeat
        cloth = replace(cloth, end_allowance_mm=ends_mm(first) / 2)
    bought = purchase(checked.layout.length_mm, cloth)
    scene = build_scene(checked, bought, leftovers(checked, bought))
    of_ply = [
        fact
        for fact in title_facts(checked, bought, Reader.CUTTING_ROOM)
        if fact.label not in ("to buy", "there is", "price", "sold in steps of", "length used")
        and not fact.label.startswith("needed")
    ]
    takes = "this lay takes" if len(shared.lays) == 1 else "these lays take"
    total = cloth_length(sum(laid.cloth_mm for laid in shared.lays))
    return replace(
        scene,
        facts=(
            Fact(takes, total, f"{_plies(shared)} of {length(first.ply_mm)}"),
            Fact("marker length", cut_length(checked.layout.length_mm), "without the ends"),
            *of_ply,
            *_cost(shared),
        ),
        subtitle=f"marker {shared.letter}, {lays_words(shared, count)}, {_plies(shared)}",
    )


def lays_words(shared: SharedMarker, count: int) -> str:
    """'lay 2 of 5', 'lays 2 and 3 of 5'."""
    *others, last = (str(laid.number) for laid in shared.lays)
    return f"lays {', '.join(others)} and {last} of {count}" if others else f"lay {last} of {count}"


def _plies(shared: SharedMarker) -> str:
    """'12 plies', '12 and 3 plies'."""
    *others, last = (laid.lay.height for laid in shared.lays)
    many = ", ".join(map(str, others))
    return f"{many} and {last} plies" if many else counted(last, "ply")


def _cost(shared: SharedMarker) -> tuple[Fact, ...]:
    cloth = shared.checked.layout.cloth
    amount = cost_of(sum(laid.cloth_mm for laid in shared.lays), cloth)
    if amount is None or cloth.price is None:
        return ()
    of = "cloth of this lay" if len(shared.lays) == 1 else "cloth of these lays"
    cost = amount_words(amount, cloth.price.currency)
    return (Fact(of, cost, "all plies, ends included"),)
