"""No-fit polygon boundaries of all pairs of shapes, flat, so that kernels can read them."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

import numpy as np

from marker.geometry.arrays import FloatArray, IntArray
from marker.geometry.minkowski import edges_of_sum, sliding, standing
from marker.placement.problem.statement import PlacementProblem


class Boundaries(Mapping[tuple[int, int], FloatArray]):
    """Edges of each pair of shapes a <= b, as `no_fit_edges` makes them: b's position less a's is
    inside when the two overlap.

    edge : (e, 4) the edges of all pairs. start : (p + 1,) pair p owns start[p] to start[p + 1].
    pair : (s, s) index of a pair, a <= b or not; means nothing for two that are no pair.
    """

    def __init__(self, edges_of: Mapping[tuple[int, int], FloatArray]) -> None:
        shapes = 1 + max((b for _, b in edges_of), default=-1)
        self._pairs = list(edges_of)
        self.edge: FloatArray = np.concatenate([np.empty((0, 4)), *edges_of.values()])
        counts = [len(edges) for edges in edges_of.values()]
        self.start: IntArray = np.concatenate([[0], np.cumsum(counts)]).astype(np.int64)
        self.pair: IntArray = np.full((shapes, shapes), -1, dtype=np.int64)
        for index, (a, b) in enumerate(self._pairs):
            self.pair[a, b] = self.pair[b, a] = index

    def __getitem__(self, pair: tuple[int, int]) -> FloatArray:
        a, b = pair
        index = self.pair[a, b]
        if a > b or index < 0:
            raise KeyError(pair)
        return self.edge[self.start[index] : self.start[index + 1]]

    def __iter__(self) -> Iterator[tuple[int, int]]:
        return iter(self._pairs)

    def __len__(self) -> int:
        return len(self._pairs)


def boundaries(problem: PlacementProblem) -> Boundaries:
    """No-fit polygon edges of each pair of the problem's shapes, but not of two obstacles."""
    movable = {orientation.shape for item in problem.items for orientation in item.orientations}
    fixed = [standing(shape) for shape in problem.shapes]
    moving = [sliding(shape) for shape in problem.shapes]
    return Boundaries(
        {
            (a, b): edges_of_sum(fixed[a], moving[b])
            for a in range(len(fixed))
            for b in range(a, len(fixed))
            if a in movable or b in movable
        }
    )
