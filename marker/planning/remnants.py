"""A load laid on odd-shaped remnants: which pieces from which, each remnant a layout of its own."""

from __future__ import annotations

import time
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, replace

from marker import judge
from marker.cloth.fabric import Nap
from marker.cloth.spread import LAID_OPEN, Spreading
from marker.errors import CannotBeDone, StoppedEarly
from marker.geometry.kernels import is_compiled
from marker.layout import CheckedLayout, Layout
from marker.placement.exact.sharing import Share, Sharing
from marker.placement.problem.cuts import Cut, Label
from marker.placement.problem.prepare import placements, stretches
from marker.placement.problem.table import one_ply_table
from marker.placement.search.separation import separate
from marker.placement.solve import Result, solve
from marker.placement.stop import Progress
from marker.placement.warming import warm_up_first_layouts, warm_up_search
from marker.planning.events import CompilingBegan, OnEvent, SearchBegan, SearchEnded, progressed
from marker.planning.limits import SearchLimits
from marker.planning.tasks import ClothLoad
from marker.tolerances import JUDGED_MM
from marker.units import area
from marker.words import counted

FIRST_PART = 0.02
"""Of the time, for one trial of pieces on a remnant; doubled when all sharings were refused."""

MOST_ROUNDS = 40
"""Of proposals, where iterations are the limit and not seconds."""


def lay_on_remnants(
    load: ClothLoad, limits: SearchLimits, on_event: OnEvent
) -> tuple[CheckedLayout, ...]:
    """A checked layout for each remnant of the load's cloth that gets pieces, in their order.

    limits : what this load gets alone. Raises CannotBeDone if there is no way to share the pieces
    out, saying how that is proven, or if none was found; StoppedEarly if it was stopped before.
    """
    on_event(SearchBegan(load.cloth.name, load.cloth, limits.seconds))
    trials = _Remnants(load, limits, on_event)
    laid = None if trials.too_large else trials.search()
    if laid is None and limits.stopped.is_set():
        raise StoppedEarly
    if laid is None:
        raise CannotBeDone(trials.why_not())
    layouts = [_layout(load, each, limits.seed) for each in laid]
    found = judge.check_together(layouts, load.cut_pieces, load.job.garments)
    for checked in found:
        on_event(SearchEnded(load.cloth.name, checked))
    return found


def _layout(load: ClothLoad, laid: _Laid, seed: int) -> Layout:
    assert laid.result is not None, "a remnant without pieces has no layout"
    result = laid.result
    return Layout(
        job_name=load.job.name,
        cloth=load.cloth.on(load.cloth.remnants[laid.remnant]),
        placements=placements(result.problem, laid.labels, result.arrangement),
        length_mm=max(result.length, result.bound),
        length_lower_bound_mm=result.bound,
        stopped_because=result.ending,
        seed=seed,
        seconds=result.seconds,
        spread=LAID_OPEN,
    )


@dataclass(frozen=True)
class _Laid:
    """Some pieces on one remnant: where they fit, the layout's parts; else whether that is proven
    to be impossible."""

    remnant: int
    labels: tuple[Label, ...]
    result: Result | None
    fits: bool
    proven: bool


class _Remnants:
    """The trials of one load: every sharing is laid remnant by remnant, and each trial kept."""

    def __init__(self, load: ClothLoad, limits: SearchLimits, on_event: OnEvent) -> None:
        self._load, self._limits, self._on_event = load, limits, on_event
        self._cloths = [load.cloth.on(remnant) for remnant in load.cloth.remnants]
        self._kinds: dict[object, list[Label]] = defaultdict(list)
        for label in load.items:
            self._kinds[label.hand].append(label)
        self._known: dict[tuple[int, Share, float], _Laid] = {}
        if not is_compiled(separate):
            on_event(CompilingBegan(load.cloth.name))
        warm_up_first_layouts()  # trials are short: none may be charged for what is loaded once
        warm_up_search(False)
        self._began = time.monotonic()
        self._part_of_time = FIRST_PART
        self.sharing = Sharing(
            wanted=tuple(len(labels) for labels in self._kinds.values()),
            areas_mm2=[labels[0].piece.area_mm2 for labels in self._kinds.values()],
            rooms_mm2=[remnant.area_mm2 for remnant in load.cloth.remnants],
        )

    def search(self) -> list[_Laid] | None:
        """Something for each remnant; None if no sharing is left, or time is up."""
        self._try_singles()
        for _ in range(MOST_ROUNDS if self._limits.seconds is None else 10**6):
            if self._is_over():
                return None
            shares = self.sharing.propose()
            if shares is None:
                if self._limits.seconds is None or not self.sharing.forget_unproven():
                    return None
                self._part_of_time *= 2
                self._try_singles()
                continue
            laid = self._lay_all(shares)
            if laid is not None:
                return laid
        return None

    def _try_singles(self) -> None:
        """Refuse each kind that was not laid yet on each remnant on which not one of it lies."""
        laid = {key[:2] for key, known in self._known.items() if known.fits}
        for kind in range(len(self._kinds)):
            one = tuple(int(k == kind) for k in range(len(self._kinds)))
            for remnant in range(len(self._cloths)):
                if (remnant, one) not in laid and not self._is_over():
                    self._trial(remnant, one)

    def _lay_all(self, shares: Sequence[Share]) -> list[_Laid] | None:
        """The fullest remnant first, for it is refused most easily."""
        rooms, areas = self.sharing.rooms_mm2, self.sharing.areas_mm2
        fill = [
            sum(count * area for count, area in zip(share, areas, strict=True)) / room
            for share, room in zip(shares, rooms, strict=True)
        ]
        laid: dict[int, _Laid] = {}
        for remnant in sorted(range(len(shares)), key=lambda k: -fill[k]):
            if any(shares[remnant]):
                laid[remnant] = self._trial(remnant, shares[remnant])
                if not laid[remnant].fits:
                    return None
        return [self._named(laid[k], shares) for k in sorted(laid)]

    def _trial(self, remnant: int, share: Share) -> _Laid:
        key = (remnant, share, self._part_of_time)
        if key not in self._known:
            self._known[key] = self._lay(remnant, share)
            if not self._known[key].fits:
                self.sharing.refuse(remnant, share, self._known[key].proven)
        return self._known[key]

    def _lay(self, remnant: int, share: Share) -> _Laid:
        """Lay the first labels of each kind. Where the pieces of a garment must point one way, all
        point along the remnant, so that nothing is proven by failing."""
        cloth = self._cloths[remnant]
        coupled = cloth.nap is Nap.ONE_WAY_PER_GARMENT
        cloth = replace(cloth, nap=Nap.ONE_WAY) if coupled else cloth
        labels = tuple(
            label
            for count, kind in zip(share, self._kinds.values(), strict=True)
            for label in kind[:count]
        )
        table = one_ply_table(Spreading.OPEN, cloth)
        try:
            (stretch,) = stretches([(table, [Cut(label) for label in labels])])
        except CannotBeDone:  # wider than the remnant in every allowed turn
            return _Laid(remnant, labels, None, False, not coupled)
        room = self._load.cloth.remnants[remnant].along_mm + JUDGED_MM
        limits = replace(self._limits, enough_mm=room, hopeless_mm=room).part(self._part_of_time)
        result = solve(stretch.problem, limits.rule(), limits.seed, limits.workers, self._tell)
        refuted = result.bound > room and not coupled
        return _Laid(remnant, labels, result, result.length <= room, refuted)

    def _named(self, laid: _Laid, shares: Sequence[Share]) -> _Laid:
        """With the labels that its remnant gets, those of the remnants before it left out."""
        remnant, kinds = laid.remnant, self._kinds.values()
        before = [sum(share[k] for share in shares[:remnant]) for k in range(len(kinds))]
        labels = tuple(
            label
            for start, count, kind in zip(
                before, shares[remnant], self._kinds.values(), strict=True
            )
            for label in kind[start : start + count]
        )
        return replace(laid, labels=labels)

    @property
    def too_large(self) -> bool:
        """Whether the pieces have more area than the remnants."""
        return self._area > sum(self.sharing.rooms_mm2)

    @property
    def _area(self) -> float:
        every = zip(self.sharing.wanted, self.sharing.areas_mm2, strict=True)
        return sum(count * area for count, area in every)

    def why_not(self) -> str:
        """Why there is no sharing, or that none was found."""
        job, name = self._load.job.name, self._load.cloth.name
        many = counted(len(self._cloths), "remnant")
        if self.too_large:
            rooms = sum(self.sharing.rooms_mm2)
            return (
                f"{job} does not fit the {many} of {name}: its pieces have {area(self._area)}, "
                f"the remnants {area(rooms)}. More cloth is needed."
            )
        homeless = [
            labels[0].piece.name
            for kind, labels in enumerate(self._kinds.values())
            if self._fits_none(kind)
        ]
        if homeless:
            return (
                f"{job} does not fit the {many} of {name}: {' and '.join(dict.fromkeys(homeless))} "
                f"fits none of them, which is proven. A larger remnant is needed for it."
            )
        if self.sharing.all_proven and self.sharing.propose() is None:
            return (
                f"{job} does not fit the {many} of {name}: every way to share its pieces out "
                f"leaves one over, which is proven. More cloth is needed."
            )
        return (
            f"no way was found to lay {job} on the {many} of {name}. That does not prove that "
            f"there is none: give the search more time, or more cloth."
        )

    def _fits_none(self, kind: int) -> bool:
        """Whether not one piece of this kind lies on any remnant, proven."""
        one = tuple(int(k == kind) for k in range(len(self._kinds)))
        refused = {r.remnant for r in self.sharing.refusals if r.share == one and r.proven}
        return len(refused) == len(self._cloths)

    def _is_over(self) -> bool:
        if self._limits.stopped.is_set():
            return True
        seconds = self._limits.seconds
        return seconds is not None and time.monotonic() - self._began >= seconds

    def _tell(self, progress: Progress) -> None:
        spent = time.monotonic() - self._began - progress.seconds
        name = self._load.cloth.name
        self._on_event(progressed(name, progress, spent, self._limits.seconds))
