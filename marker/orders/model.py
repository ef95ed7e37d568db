"""The CP-SAT model of a plan with a given number of lays.

Garments in a marker times plies of a lay is a product of two unknowns. CP-SAT carries it as such,
tightened by a sum over the marker; `branching` narrows the ranges of the plies until it is easy.
An integer model chooses plies and garments per marker together, as in the literature, both from
memory. Rose & Shier 2007, "Cut scheduling in the apparel industry", enumerate the plies. Proll &
Smith 1998 treat "Integer linear programming and constraint programming approaches to a template
design problem".

Estimated lengths of markers are linear in it; each mix that was laid is a case apart.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from marker.orders.bounds import fullest, most_plies
from marker.orders.lengths import Lengths
from marker.orders.order import CutOrder, Lay, Limits, Measure

if TYPE_CHECKING:
    from ortools.sat.python import cp_model

Ranges = tuple[tuple[tuple[int, int], ...], ...]
"""Fewest and most plies, [lay][colour]."""


@dataclass(frozen=True)
class Question:
    """Which plan of exactly `lays` lays is best?

    ceiling : (measure, most) that the plan must keep besides.
    """

    order: CutOrder
    limits: Limits
    lengths: Lengths | None
    lays: int
    measure: Measure
    ceiling: tuple[Measure, int] | None = None


@dataclass(frozen=True)
class Model:
    """plies : [lay][colour]. count : [lay][size]. cut : [lay][colour][size], their products."""

    question: Question
    cp: cp_model.CpModel
    plies: list[list[Any]]
    count: list[list[Any]]
    cut: list[list[list[Any]]]

    def lays(self, value: Any) -> tuple[Lay, ...]:
        """The plan that a solver found; value : variable -> int."""
        order = self.question.order
        return tuple(
            Lay(_positive(order.colours, plies, value), _positive(order.sizes, count, value))
            for plies, count in zip(self.plies, self.count, strict=True)
        )


def _positive(names: Sequence[str], variables: Sequence[Any], value: Any) -> dict[str, int]:
    values = {name: int(value(v)) for name, v in zip(names, variables, strict=True)}
    return {name: number for name, number in values.items() if number}


def widest(question: Question) -> Ranges:
    """The ranges of plies before any branching."""
    order, limits = question.order, question.limits
    least = 1 if len(order.colours) == 1 else 0
    a_lay = tuple((least, most_plies(order, limits, colour)) for colour in order.colours)
    return (a_lay,) * question.lays


def build(question: Question, ranges: Ranges, floor: int, most: int | None) -> Model:
    """The model whose plies lie in `ranges` and whose measure is from `floor` to `most`."""
    from ortools.sat.python import cp_model

    order, limits = question.order, question.limits
    cp = cp_model.CpModel()
    plies = [[cp.new_int_var(low, high, "plies") for low, high in a_lay] for a_lay in ranges]
    count = [
        [cp.new_int_var(0, _most_in_marker(order, limits, size), size) for size in order.sizes]
        for _ in ranges
    ]
    cut = [
        [
            _products(cp, question, p, high, count[j])
            for p, (_, high) in zip(plies[j], a_lay, strict=True)
        ]
        for j, a_lay in enumerate(ranges)
    ]
    model = Model(question, cp, plies, count, cut)
    _meet_demand(model)
    _keep_limits(model)
    _break_symmetry(model)
    longer = [_length_terms(model, lay) for lay in range(question.lays)]
    if question.ceiling is not None:
        measure, highest = question.ceiling
        cp.add(_total(model, measure, longer) <= highest)
    total = _total(model, question.measure, longer)
    cp.add(total >= floor)
    if most is not None:
        cp.add(total <= most)
    cp.minimize(total)
    return model


def _most_in_marker(order: CutOrder, limits: Limits, size: str) -> int:
    caps = [order.most(colour, size) for colour in order.colours]
    useful = [
        order.least(colour, size) if cap is None else cap
        for colour, cap in zip(order.colours, caps, strict=True)
    ]
    return min(limits.max_garments, max(useful))


def _products(
    cp: cp_model.CpModel, question: Question, plies: Any, highest: int, count: list[Any]
) -> list[Any]:
    """Garments of each size that one colour of a lay yields."""
    holds = fullest(question.order, question.limits, question.lengths)
    most = highest * holds
    cut = [cp.new_int_var(0, most, "cut") for _ in count]
    for product, garments in zip(cut, count, strict=True):
        cp.add_multiplication_equality(product, [plies, garments])
    # implied, and what makes the relaxation know that a marker is full
    cp.add(sum(cut) <= holds * plies)
    return cut


def _meet_demand(model: Model) -> None:
    order = model.question.order
    for c, colour in enumerate(order.colours):
        for s, size in enumerate(order.sizes):
            total = sum(lay[c][s] for lay in model.cut)
            model.cp.add(total >= order.least(colour, size))
            most = order.most(colour, size)
            if most is not None:
                model.cp.add(total <= most)


def _keep_limits(model: Model) -> None:
    limits = model.question.limits
    for plies, count in zip(model.plies, model.count, strict=True):
        model.cp.add(sum(count) <= limits.max_garments)
        model.cp.add(sum(count) >= 1)
        model.cp.add(sum(plies) >= 1)
        if limits.max_plies is not None:
            model.cp.add(sum(plies) <= limits.max_plies)


def _break_symmetry(model: Model) -> None:
    """Highest lay first; of two sizes ordered alike, the first has more in the first marker."""
    for one, next_one in zip(model.plies, model.plies[1:], strict=False):
        model.cp.add(sum(one) >= sum(next_one))
    if model.question.lengths is not None:
        return
    last: dict[tuple[int, ...], Any] = {}
    order = model.question.order
    for size, first in zip(order.sizes, model.count[0], strict=True):
        alike = tuple(order.least(colour, size) for colour in order.colours)
        if alike in last:
            model.cp.add(last[alike] >= first)
        last[alike] = first


def _length_terms(model: Model, lay: int) -> Any:
    """Keep the table's length; how much more cloth the lay takes than estimated, mm."""
    question, height = model.question, sum(model.plies[lay])
    if question.lengths is None:
        return 0
    return _add_lengths(
        model.cp, question.order, question.limits, question.lengths, height, model.count[lay]
    )


def _total(model: Model, measure: Measure, longer: Sequence[Any]) -> Any:
    """What is to be minimised, summed over the lays; longer : from `_length_terms`."""
    order, lengths = model.question.order, model.question.lengths
    if measure is Measure.PLIES:
        return sum(sum(plies) for plies in model.plies)
    cut = [garments for lay in model.cut for garments in lay]
    if measure is Measure.GARMENTS:
        return sum(sum(garments) for garments in cut)
    if lengths is None:
        raise ValueError("cost can be minimised only where lengths are known")
    a_ply = lengths.base_mm + lengths.end_loss_mm + lengths.ply_cost_mm
    return (
        sum(_garments_mm(lengths, order, garments) for garments in cut)
        + a_ply * sum(sum(plies) for plies in model.plies)
        + sum(longer)
        + (lengths.marker_cost_mm * _markers(model) if lengths.marker_cost_mm else 0)
    )


def _markers(model: Model) -> Any:
    """How many different markers there are: all but those of the same garments as one before."""
    cp, again = model.cp, []
    for lay, count in enumerate(model.count[1:], 1):
        repeats = cp.new_bool_var("again")
        same = [cp.new_bool_var("same") for _ in range(lay)]
        for literal, before in zip(same, model.count, strict=False):
            for one, other in zip(before, count, strict=True):
                cp.add(one == other).only_enforce_if(literal)
        cp.add_bool_or([*same, ~repeats])
        again.append(repeats)
    return len(model.count) - sum(again)


def _garments_mm(lengths: Lengths, order: CutOrder, garments: Sequence[Any]) -> Any:
    """Estimated length of garments, one term a size, without the marker's base."""
    pairs = zip(order.sizes, garments, strict=True)
    return sum(lengths.garment_mm[size] * number for size, number in pairs)


def _add_lengths(
    cp: cp_model.CpModel,
    order: CutOrder,
    limits: Limits,
    lengths: Lengths,
    height: Any,
    count: Sequence[Any],
) -> Any:
    """Keep a lay's marker on the table.

    height, count : plies of the lay, garments of its marker. Returns the cloth, mm, that the lay
    takes beyond what its marker was estimated at, below zero where less; 0 for a mix never laid.
    """
    marker_longer: Any = 0
    lay_longer: Any = 0
    highest = sum(most_plies(order, limits, colour) for colour in order.colours)
    for mix, laid in lengths.known.items():
        garments = dict(mix)
        if not garments.keys() <= set(order.sizes):
            continue
        chosen = _chosen(cp, count, [garments.get(size, 0) for size in order.sizes])
        plies = cp.new_int_var(0, highest, "plies of the mix")
        cp.add(plies == height).only_enforce_if(chosen)
        cp.add(plies == 0).only_enforce_if(~chosen)
        estimated = lengths.estimate(garments)
        on_table = lengths.on_table_mm(garments) - lengths.ends_on_table_mm
        marker_longer += (lengths.layers * on_table - estimated) * chosen
        lay_longer += (laid - estimated) * plies
    if limits.table_mm is not None:
        estimate = lengths.base_mm + _garments_mm(lengths, order, count)
        room = lengths.layers * (limits.table_mm - lengths.ends_on_table_mm)
        cp.add(estimate + marker_longer <= room)
    return lay_longer


def _chosen(cp: cp_model.CpModel, count: Sequence[Any], mix: Sequence[int]) -> Any:
    """A literal that is true if, and only if, the marker holds this mix."""
    chosen = cp.new_bool_var("mix")
    same = []
    for variable, number in zip(count, mix, strict=True):
        literal = cp.new_bool_var("same")
        cp.add(variable == number).only_enforce_if(literal)
        cp.add(variable != number).only_enforce_if(~literal)
        same.append(literal)
    cp.add_bool_and(same).only_enforce_if(chosen)
    cp.add_bool_or([~literal for literal in same] + [chosen])
    return chosen
