"""An order, its limits and its costs as arrays, [colour, size], for the searches over mixes."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np
import numpy.typing as npt

from marker.orders.bounds import fullest, most_plies
from marker.orders.lengths import Lengths
from marker.orders.order import CutOrder, Lay, Limits, Measure, Plan

IntArray = npt.NDArray[np.int64]

ANY = 1 << 30
"""Stands for no limit; far above any number of garments."""

MixKey = tuple[int, ...]
"""Garments of each size in a marker, in the order of the table's sizes."""


@dataclass(frozen=True)
class CutTable:
    """What has to be cut, and what a ply costs.

    lengths : of markers; None where they are not known. Arrays are (colours, sizes).
    """

    order: CutOrder
    limits: Limits
    lengths: Lengths | None
    measure: Measure
    _costs: dict[MixKey, int] = field(default_factory=dict, init=False, repr=False, compare=False)

    @cached_property
    def least(self) -> IntArray:
        """Garments that must be cut."""
        order = self.order
        return np.array([[order.least(c, s) for s in order.sizes] for c in order.colours])

    @cached_property
    def most(self) -> IntArray:
        """Garments that may be cut; ANY for any number."""
        order = self.order
        most = [[order.most(c, s) for s in order.sizes] for c in order.colours]
        return np.array([[ANY if each is None else each for each in row] for row in most])

    @cached_property
    def holds(self) -> int:
        """Garments that the fullest marker could hold."""
        return fullest(self.order, self.limits, self.lengths)

    @cached_property
    def height(self) -> int:
        """Plies that a lay may have."""
        useful = sum(most_plies(self.order, self.limits, c) for c in self.order.colours)
        most = self.limits.max_plies
        return useful if most is None else min(most, useful)

    def garments(self, mix: IntArray) -> dict[str, int]:
        """Size -> count, sizes without any left out."""
        return {s: int(n) for s, n in zip(self.order.sizes, mix, strict=True) if n}

    def allows(self, mix: IntArray) -> bool:
        """Whether a marker may hold this mix: enough places, and no longer than the table."""
        if not 1 <= mix.sum() <= self.limits.max_garments:
            return False
        if self.limits.table_mm is None or self.lengths is None:
            return True
        return self.lengths.on_table_mm(self.garments(mix)) <= self.limits.table_mm

    def ply_cost(self, mix: IntArray) -> int:
        """What a ply counts: 1, or its cost in mm of cloth, or its garments."""
        if self.measure is Measure.GARMENTS:
            return int(mix.sum())
        if self.measure is Measure.PLIES or self.lengths is None:
            return 1
        return self._ply_mm(mix) + self.lengths.ply_cost_mm

    @property
    def marker_cost(self) -> int:
        """What each different mix counts."""
        if self.measure is not Measure.COST or self.lengths is None:
            return 0
        return self.lengths.marker_cost_mm

    def _ply_mm(self, mix: IntArray) -> int:
        """Cloth of a ply with its ends."""
        assert self.lengths is not None
        key = tuple(mix.tolist())
        if key not in self._costs:
            self._costs[key] = self.lengths.of(self.garments(mix)) + self.lengths.end_loss_mm
        return self._costs[key]

    def most_plies_of(self, mix: IntArray) -> IntArray:
        """Most plies of each colour in a lay of this mix, by what may be cut and what is wanted."""
        on = mix > 0
        within = (self.most[:, on] // mix[on]).min(axis=1)
        useful = (-(-self.least[:, on] // mix[on])).max(axis=1)
        return np.asarray(np.minimum(np.minimum(within, useful), self.height))

    @property
    def dearest_plan(self) -> int:
        """More than the plies of any plan worth a thought cost: a lay that costs this is spared
        whatever else it takes."""
        order = self.order
        alone = [self.ply_cost(mix) for mix in np.eye(len(order.sizes), dtype=np.int64)]
        return order.garments * (2 * max(alone) + self.marker_cost) + 1

    def plan(self, mixes: Iterable[IntArray], plies: Iterable[IntArray]) -> Plan:
        """The lays of mixes on plies of each colour, highest first, empty ones left out."""
        pairs = [(mix, of) for mix, of in zip(mixes, plies, strict=True) if of.sum()]
        pairs.sort(key=lambda pair: (-pair[1].sum(), (-pair[0]).tolist()))
        colours = self.order.colours
        return tuple(
            Lay({c: int(n) for c, n in zip(colours, of, strict=True) if n}, self.garments(mix))
            for mix, of in pairs
        )

    def keeps(self, plan: Plan) -> bool:
        """Whether a plan cuts what it must and may, within all limits."""
        most = self.limits.max_markers
        if most is not None and len(plan) > most:
            return False
        mixes, plies = self.mixes(plan)
        cut = plies.T @ mixes
        return bool(
            (cut >= self.least).all()
            and (cut <= self.most).all()
            and (self.limits.max_plies is None or (plies.sum(axis=1) <= self.height).all())
            and all(map(self.allows, mixes))
        )

    def mixes(self, plan: Plan) -> tuple[IntArray, IntArray]:
        """Mixes (lays, sizes) and plies (lays, colours) of a plan."""
        order = self.order
        mixes = [[lay.garments.get(size, 0) for size in order.sizes] for lay in plan]
        plies = [[lay.plies.get(colour, 0) for colour in order.colours] for lay in plan]
        return np.array(mixes), np.array(plies)


def on_table(garments: Mapping[str, int], limits: Limits, lengths: Lengths | None) -> bool:
    """Whether a marker is no longer than the table."""
    if limits.table_mm is None or lengths is None:
        return True
    return lengths.on_table_mm(garments) <= limits.table_mm
