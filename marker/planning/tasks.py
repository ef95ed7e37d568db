"""What there is to lay: what each cloth of a job holds, and how that cloth is spread."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from marker import judge
from marker.cloth.fabric import Cloth
from marker.cloth.repeat import Axis
from marker.cloth.spread import Spreading
from marker.errors import CannotBeDone
from marker.job import Job
from marker.layout import CheckedLayout, Ending, Layout
from marker.pattern.piece import CutPiece
from marker.pattern.repeats.match import tied_along
from marker.placement.problem.cuts import Label, labels
from marker.placement.problem.cutting_plans import (
    Arranged,
    CuttingPlan,
    cutting_plans,
    in_order,
    opened_flat,
)
from marker.placement.problem.ties import ties


@dataclass(frozen=True)
class ClothLoad:
    """What one cloth of a job holds: its cut pieces, and an item for each copy of them."""

    job: Job
    cloth: Cloth
    cut_pieces: tuple[CutPiece, ...]
    items: tuple[Label, ...]


@dataclass(frozen=True)
class LayingTask:
    """A cloth's load with the cloth spread in one way.

    plans : ways to cut it, of one or two stretches each; all are laid, the shortest counts.
    unmatched : a way to cut it without its matches, to tell what they cost; None without any.
    """

    load: ClothLoad
    spreading: Spreading
    plans: tuple[CuttingPlan, ...]
    unmatched: CuttingPlan | None

    @property
    def cloth(self) -> Cloth:
        """The cloth that it is laid on."""
        return self.load.cloth

    @property
    def start_is_free(self) -> bool:
        """Whether it is matched along, and may yet start on any place of the cloth's repeat."""
        every = [match for piece in self.load.cut_pieces for match in piece.matches]
        placed = any(Axis.ALONG in match.at_mm for match in every)
        return (
            self.unmatched is not None
            and self.cloth.start_is_free
            and tied_along(every)
            and not placed
            and not self.spreading.ends_meet
        )

    def layout(
        self,
        arranged: Sequence[Arranged],
        bound_mm: float,
        ending: Ending,
        seed: int,
        seconds: float,
    ) -> Layout:
        """One of the plans as its stretches were laid, on the cloth opened flat. Not yet checked.

        bound_mm : a proven lower bound on the length of every plan.
        """
        flat = opened_flat(self.spreading, self.cloth, arranged)
        cloth = self.cloth
        if self.start_is_free:
            unused = min(float(each.outline_mm[:, 0].min()) for each in flat.placements)
            flat, cloth = flat.moved_back(unused), cloth.started_at(unused)
        return Layout(
            job_name=self.load.job.name,
            cloth=cloth,
            placements=in_order(flat.placements, self.load.items),
            # outlines are rounded to a grid: what that gains must not beat what is proven
            length_mm=max(flat.length_mm, bound_mm),
            length_lower_bound_mm=bound_mm,
            stopped_because=ending,
            seed=seed,
            seconds=seconds,
            spread=flat.spread,
            spares=flat.spares,
        )

    def checked(self, layout: Layout) -> CheckedLayout:
        """A layout of this task, passed by the judge."""
        return judge.check(layout, self.load.cut_pieces, self.load.job.garments)


def loads(job: Job, cloths: Sequence[Cloth] | None = None) -> tuple[ClothLoad, ...]:
    """One for each cloth that something is cut from, the main cloth first.

    cloths : those of the job that are asked for, None for all.
    Raises CannotBeDone for a piece or strip that can't be cut from its cloth.
    """
    found = []
    for cloth in job.cloths if cloths is None else cloths:
        pieces = job.cut_pieces(cloth)
        items = labels(pieces, job.garments)
        if items:
            found.append(ClothLoad(job, cloth, pieces, items))
    if not found:
        raise CannotBeDone(f"{job.name} has nothing to cut. Give it pieces or strips.")
    return tuple(found)


def shares(every: Sequence[ClothLoad]) -> tuple[float, ...]:
    """The part of a job's time that each load gets: half of it in equal parts, so that a cloth of
    few pieces gets enough, and half by pieces."""
    total = sum(len(load.items) for load in every)
    return tuple(0.5 / len(every) + 0.5 * len(load.items) / total for load in every)


def spread(load: ClothLoad, spreading: Spreading | None = None) -> LayingTask:
    """The load with its cloth spread like this, or as the cloth says itself.

    Raises CannotBeDone where that can't be.
    """
    spreading = spreading or load.cloth.spread
    cloth, pieces = load.cloth, load.cut_pieces
    plans = cutting_plans(load.items, spreading, cloth, ties(pieces, cloth))
    unmatched = None
    if any(piece.match_points for piece in pieces):
        bare = [replace(piece, match_points=()) for piece in pieces]
        unmatched = cutting_plans(load.items, spreading, cloth, ties(bare, cloth))[0]
    return LayingTask(load, spreading, plans, unmatched)


def tasks(job: Job) -> tuple[LayingTask, ...]:
    """Every load with its cloth spread as the cloth says itself."""
    return tuple(spread(load) for load in loads(job))
