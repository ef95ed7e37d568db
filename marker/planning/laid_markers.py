"""The markers laid so far for one cloth, and how long they say that others are."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace

from marker.cloth.buying import whole_repeats_mm
from marker.cloth.fabric import Cloth
from marker.geometry.kernels import is_compiled
from marker.job import Job
from marker.layout import CheckedLayout
from marker.layout.bought import is_tied_along
from marker.orders.lengths import Lengths, Mix, mix
from marker.placement.search.separation import separate
from marker.placement.stop import Flag
from marker.planning.carrying import of_fewer_garments
from marker.planning.events import CompilingBegan, OnEvent, SearchEnded, WorkersGone
from marker.planning.heats import proven
from marker.planning.marker_work import MarkerEffort, first_layout
from marker.planning.workers import WorkerPool, WorkersLost

_PROBE = 3  # garments of the longer of the two markers that the estimate is fitted to first


@dataclass
class LaidMarkers:
    """Markers by mix; none is longer than one of more garments.

    effort : what a marker gets where no seconds limit it. stop : set it to have markers end with
    their best layouts so far. on_event : told of each. lost : why the workers were lost; what is
    still to be laid then gets its first layout, here.
    """

    job: Job
    cloth: Cloth
    pool: WorkerPool
    effort: MarkerEffort
    stop: Flag
    on_event: OnEvent
    ends_mm: int = 0
    laid: dict[Mix, CheckedLayout] = field(default_factory=dict)
    lost: str = ""
    _times: int = field(init=False, default=0)

    @property
    def ended(self) -> bool:
        """Whether nothing more is searched for."""
        return bool(self.lost) or self.stop.is_set()

    def lay_new(self, mixes: Iterable[Mapping[str, int]], seconds: float | None) -> bool:
        """Lay those that are not laid yet; whether there were any. seconds : for all together."""
        new = {mix(each): each for each in mixes if mix(each) not in self.laid}
        self._lay(new, seconds)
        for key, garments in new.items():
            if key not in self.laid:
                garments = self._in_order(garments)
                self._note(key, first_layout(self.job, self.cloth, garments, self.stop))
        inherit(self.laid)
        return bool(new)

    def lay_again(self, mixes: Iterable[Mapping[str, int]], seconds: float) -> bool:
        """Lay those anew that are not proven shortest; whether one got shorter."""
        again = {mix(each): each for each in mixes if not proven(self.laid[mix(each)])}
        before = {key: self.laid[key].layout.length_mm for key in again}
        self._lay(again, seconds)
        inherit(self.laid)
        return any(self.laid[key].layout.length_mm < length for key, length in before.items())

    def _lay(self, garments: Mapping[Mix, Mapping[str, int]], seconds: float | None) -> None:
        """Have the pool lay them, as long as there is one; a shorter layout stays."""
        if self.lost or not garments:
            return
        effort = replace(self.effort, seed=self.effort.seed + 100_000 * self._times)
        self._times += 1
        if seconds is not None:
            turns = -(-len(garments) // self.pool.places())
            effort = replace(effort, seconds=seconds / turns)
        keys = list(garments)
        try:
            self.pool.lay(
                self.job,
                self.cloth,
                [self._in_order(each) for each in garments.values()],
                effort,
                self.stop,
                lambda number, laid: self._note(keys[number], laid),
            )
        except WorkersLost as reason:
            self.lost = str(reason)
            self.on_event(WorkersGone(self.cloth.name, self.lost))
            if not is_compiled(separate):
                self.on_event(CompilingBegan(self.cloth.name))

    def _note(self, key: Mix, laid: CheckedLayout) -> None:
        standing = self.laid.get(key)
        if standing is None or laid.layout.length_mm < standing.layout.length_mm:
            self.laid[key] = laid
            self.on_event(SearchEnded(self.cloth.name, laid))

    def _in_order(self, garments: Mapping[str, int]) -> dict[str, int]:
        """In the order of the job's sizes, so that the same mix is the same marker."""
        return {size: n for size in self.job.order if (n := garments.get(size, 0))}

    @property
    def lengths(self) -> dict[Mix, int]:
        """Whole mm of a ply without its ends, rounded up."""
        return {key: self.ply_mm(marker) - self.ends_mm for key, marker in self.laid.items()}

    @property
    def _on_table(self) -> dict[Mix, int]:
        """Whole mm of the table, without the ends of a ply, of markers whose ends meet."""
        if not self.cloth.spread.ends_meet:
            return {}
        return {
            key: math.ceil(marker.layout.length_mm - marker.layout.spread.two_ply_mm)
            for key, marker in self.laid.items()
        }

    def ply_mm(self, marker: CheckedLayout) -> int:
        """A ply of a marker, ends included; in whole repeats where the next one must start in the
        same place of the cloth's repeat."""
        ply = math.ceil(marker.layout.length_mm) + self.ends_mm
        return math.ceil(whole_repeats_mm(ply, self.cloth)) if is_tied_along(marker) else ply

    def first_estimate(self, sizes: Sequence[str], seconds: float | None) -> Lengths:
        """An estimate from the job's own pieces. A marker of one garment of the middle size and one
        of three say what a marker takes at least, and what a garment adds. Other sizes are
        estimated by their area."""
        middle = sizes[len(sizes) // 2]
        mixes = [{middle: 1}, {middle: _PROBE}]
        self.lay_new(mixes, seconds)
        one, more = (self.laid[mix(garments)].layout.length_mm for garments in mixes)
        each = min((more - one) / (_PROBE - 1), one) if more > one else one
        areas = {size: self.area_mm2(size) for size in sizes}
        return Lengths(
            base_mm=round(one - each),
            garment_mm={size: round(each * areas[size] / areas[middle]) for size in sizes},
        )

    def fitted(self, first: Lengths, doubt: float) -> Lengths:
        """The estimate corrected by what was laid: by least squares on the part of the garments, so
        that it neither tempts nor deters. With a doubt as many times the worst that was laid."""
        known = self.lengths
        parts = {key: first.estimate(dict(key)) - first.base_mm for key in known}
        beyond = {key: length - first.base_mm for key, length in known.items()}
        if doubt:
            factor = doubt * max(beyond[key] / parts[key] for key in known)
        else:
            squares = sum(part * part for part in parts.values())
            factor = sum(beyond[key] * parts[key] for key in known) / squares
        garments = {size: round(each * factor) for size, each in first.garment_mm.items()}
        return replace(first, garment_mm=garments, known=known, laid_on_table=self._on_table)

    def area_mm2(self, size: str) -> float:
        """Of one garment's pieces from this cloth."""
        return sum(
            piece.area_mm2 * (piece.copies + piece.mirrored_copies)
            for piece in self.job.with_order({size: 1}).cut_pieces(self.cloth)
        )


@dataclass
class MarkersByWidth:
    """The markers of one cloth, kept by the width of its rolls. none : none laid yet."""

    none: LaidMarkers
    _laid: dict[float, LaidMarkers] = field(init=False, default_factory=dict)
    _estimates: dict[float, Lengths] = field(init=False, default_factory=dict)

    def at(self, width_mm: float) -> LaidMarkers:
        """Those for cloth of a width, with all that were laid for it before."""
        if width_mm not in self._laid:
            cloth = self.none.cloth.in_width(width_mm)
            job = self.none.job
            cloths = tuple(cloth if each.name == cloth.name else each for each in job.cloths)
            self._laid[width_mm] = replace(
                self.none, job=replace(job, cloths=cloths), cloth=cloth, laid={}
            )
        return self._laid[width_mm]

    def estimate(self, width_mm: float, sizes: Sequence[str], seconds: float | None) -> Lengths:
        """The first estimate for a width; it is made once."""
        if width_mm not in self._estimates:
            self._estimates[width_mm] = self.at(width_mm).first_estimate(sizes, seconds)
        return self._estimates[width_mm]

    @property
    def lost(self) -> str:
        """Why the workers were lost, or nothing."""
        return next((each.lost for each in self._laid.values() if each.lost), "")

    def area_mm2(self, size: str) -> float:
        """Of one garment's pieces from this cloth, whatever its width."""
        return self.none.area_mm2(size)


def inherit(laid: dict[Mix, CheckedLayout]) -> None:
    """Where a marker of more garments came out shorter, those of fewer lie as they do in it."""
    by_size = sorted(laid, key=lambda each: sum(count for _, count in each))
    for at, fewer in enumerate(by_size):
        counts = dict(fewer)
        for more in by_size[at + 1 :]:
            there = dict(more)
            own, other = laid[fewer], laid[more]
            if other.layout.length_mm < own.layout.length_mm and all(
                count <= there.get(size, 0) for size, count in counts.items()
            ):
                bound = own.layout.length_lower_bound_mm
                carried = of_fewer_garments(other, own.garments, bound)
                laid[fewer] = carried or own
