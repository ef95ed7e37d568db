"""One cloth on the table: what lies on it, and what a person does to that by hand."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from functools import cached_property

from marker.drawing.scene.layout_scene import Scene, build_scene
from marker.errors import CannotBeDone
from marker.job import Job
from marker.layout import PieceKey
from marker.planning.by_hand import LayoutByHand, by_hand
from marker.planning.events import OnEvent
from marker.planning.laid_cloth import LaidCloth, laid_cloth
from marker.planning.limits import SearchLimits
from marker.planning.one_cloth import lay_task
from marker.planning.tasks import LayingTask, loads, spread


@dataclass(frozen=True)
class Arrangement:
    """A checked layout, and which of its pieces are pinned.

    task : what it lays. hand : the same to be changed by hand, once it was.
    """

    laid: LaidCloth
    task: LayingTask
    pinned: frozenset[PieceKey] = frozenset()
    hand: LayoutByHand | None = field(default=None, repr=False, compare=False)

    @property
    def length_mm(self) -> float:
        """Cloth used."""
        return self.laid.checked.layout.length_mm

    @cached_property
    def scene(self) -> Scene:
        """What there is to draw of it."""
        return build_scene(self.laid.checked, self.laid.purchase)

    @cached_property
    def numbered(self) -> dict[int, PieceKey]:
        """Number in the diagram -> which piece it is; of a cut in two plies, the upper one."""
        return {
            piece.number: PieceKey(piece.name, piece.size, piece.garment or 1, piece.copy)
            for piece in self.scene.pieces
        }

    def key(self, number: int) -> PieceKey:
        """The piece of this number; raises CannotBeDone for none."""
        if number not in self.numbered:
            raise CannotBeDone(f"there is no piece number {number}.")
        return self.numbered[number]


@dataclass
class Tabletop:
    """What lay on the table, one after another; `at` is what lies there now, -1 for nothing.

    kept : layouts put aside by hand, and the shortest there was. ready : the layout that lies
    there, ready to be changed by hand: making it so takes a moment.
    """

    job: Job
    cloth: str
    past: list[Arrangement] = field(default_factory=list)
    at: int = -1
    kept: list[Arrangement] = field(default_factory=list)

    @property
    def now(self) -> Arrangement:
        """What lies there; raises CannotBeDone for nothing."""
        if not self.past:
            raise CannotBeDone("nothing is laid yet. Lay the job first.")
        return self.past[self.at]

    @property
    def is_empty(self) -> bool:
        return not self.past

    @property
    def can_undo(self) -> bool:
        return self.at > 0

    @property
    def can_redo(self) -> bool:
        return self.at < len(self.past) - 1

    def task(self) -> LayingTask:
        """What is to be laid on the cloth, as the job says it lies."""
        cloth = next(each for each in self.job.cloths if each.name == self.cloth)
        return spread(loads(self.job, [cloth])[0])

    # -- one thing after another

    def put(self, arrangement: Arrangement) -> None:
        """Lay something else on the table; what had been undone is gone, the shortest never."""
        if self.past:
            best = min(self.past[: self.at + 1], key=lambda each: each.length_mm)
            if not any(each.length_mm <= best.length_mm for each in [*self.kept, arrangement]):
                self.kept.append(best)
        self.past = [*self.past[: self.at + 1], arrangement]
        self.at = len(self.past) - 1

    def step(self, by: int) -> None:
        """Undo (-1) or redo (1), as far as there is something."""
        self.at = min(max(self.at + by, 0), len(self.past) - 1)

    def keep(self) -> None:
        """Put what lies there aside, to be shown again."""
        if self.now not in self.kept:
            self.kept.append(self.now)

    def show(self, kept: int) -> None:
        """Lay one of the kept layouts on the table."""
        if not 0 <= kept < len(self.kept):
            raise CannotBeDone("there is no such layout any more.")
        self.put(self.kept[kept])

    # -- by hand

    def pin(self, numbers: Iterable[int], pinned: bool) -> None:
        """Pin pieces where they lie, or let them go."""
        keys = frozenset(map(self.now.key, numbers))
        held = self.now.pinned
        self.put(replace(self.now, pinned=held | keys if pinned else held - keys))

    def slide(self, number: int, dx_mm: float, dy_mm: float) -> tuple[float, float] | None:
        """How far a piece gets if it is moved so far; None where there is no free place."""
        key, hand = self._movable(number), self._hand()
        try:
            return hand.slid(key, dx_mm, dy_mm).shifted_mm(key, hand)
        except CannotBeDone:
            return None

    def move(self, number: int, dx_mm: float, dy_mm: float) -> None:
        """Slide a piece to the free place nearest to so far away."""
        self._put_by_hand(self._hand().slid(self._movable(number), dx_mm, dy_mm))

    def turn(self, number: int) -> None:
        """Turn a piece on to the next way that it may lie."""
        self._put_by_hand(self._hand().turned(self._movable(number)))

    def swap(self, one: int, other: int) -> None:
        """Two pieces in one another's places."""
        self._put_by_hand(self._hand().swapped(self._movable(one), self._movable(other)))

    def laid(self, limits: SearchLimits, on_event: OnEvent) -> Arrangement:
        """The cloth laid anew, around what is pinned where something is."""
        if self.past and self.now.pinned:
            laid = self._hand().rest_laid(self.now.pinned, limits, on_event)
            return replace(self.now, laid=laid_cloth(laid.checked()), hand=laid)
        task = self.task()
        return Arrangement(laid_cloth(lay_task(task, limits, on_event)), task)

    def _hand(self) -> LayoutByHand:
        """What lies there, ready to be changed; the first time that takes a moment."""
        now = self.now
        if now.hand is None:
            now = replace(now, hand=by_hand(now.task, now.laid.checked.layout))
            self.past[self.at] = now
        assert now.hand is not None
        return now.hand

    def _movable(self, number: int) -> PieceKey:
        key = self.now.key(number)
        if key in self.now.pinned:
            raise CannotBeDone(f"piece {number} is pinned. Let it go first.")
        return key

    def _put_by_hand(self, hand: LayoutByHand) -> None:
        self.put(replace(self.now, laid=laid_cloth(hand.checked()), hand=hand))
