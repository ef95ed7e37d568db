"""What a diagram shows of one lay of an order: which lay it is, and the cloth of all its plies."""

from __future__ import annotations

from dataclasses import replace

from marker.cloth.buying import purchase
from marker.drawing.scene.layout_scene import Scene, build_scene
from marker.drawing.scene.title_facts import Fact, title_facts
from marker.job import Reader
from marker.layout.leftovers import leftovers
from marker.planning.order import LaidLay
from marker.reports.yardage import amount_words
from marker.units import cut_length, length
from marker.words import counted


def lay_scene(laid: LaidLay, count: int) -> Scene:
    """The scene of a lay's marker, its figures those of the whole lay.

    count : of the lays of this cloth.
    """
    checked = laid.marker
    bought = purchase(checked.layout.length_mm, checked.layout.cloth)
    scene = build_scene(checked, bought, leftovers(checked, bought))
    of_ply = [
        fact
        for fact in title_facts(checked, bought, Reader.CUTTING_ROOM)
        if fact.label not in ("to buy", "there is", "price", "sold in steps of", "length used")
        and not fact.label.startswith("needed")
    ]
    plies = counted(laid.lay.height, "ply")
    return replace(
        scene,
        facts=(
            Fact("this lay takes", length(laid.cloth_mm), f"{plies} of {length(laid.ply_mm)}"),
            Fact("marker length", cut_length(checked.layout.length_mm), "without the ends"),
            *of_ply,
            *_cost(laid),
        ),
        subtitle=f"lay {laid.number} of {count}, {plies}",
    )


def _cost(laid: LaidLay) -> tuple[Fact, ...]:
    price = laid.marker.layout.cloth.price
    if price is None:
        return ()
    cost = amount_words(laid.cloth_mm / price.per_mm * price.amount, price.currency)
    return (Fact("cloth of this lay", cost, "all plies, ends included"),)
