"""One cloth on the table: what lies on it, and what a person does to that by hand."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field, replace
from functools import cached_property
from threading import Lock

from marker.cloth.fabric import Cloth
from marker.drawing.scene.layout_scene import Scene, build_scene
from marker.drawing.scene.piece_drawing import PieceDrawing
from marker.errors import CannotBeDone, MarkerError
from marker.job import Job
from marker.layout import CheckedLayout, PieceKey
from marker.layout.bought import purchase_for
from marker.planning.by_hand import LayoutByHand, by_hand, task_by_hand
from marker.planning.events import OnEvent
from marker.planning.laid_cloth import LaidCloth, laid_cloth
from marker.planning.limits import SearchLimits
from marker.planning.one_cloth import lay_task
from marker.planning.remnants import lay_on_remnants
from marker.planning.tasks import ClothLoad, LayingTask, loads
from marker.web.nudging import Nudges


@dataclass(frozen=True, eq=False)
class Arrangement:
    """What lies on the table, checked, and which pieces are pinned. What follows from it is worked
    out when it is asked for, so that its picture comes first.

    every : its layout, or one for each remnant that has pieces.
    task : what it lays, where that is not the job as it is: a width that was tried.
    """

    every: tuple[CheckedLayout, ...]
    pinned: frozenset[PieceKey] = frozenset()
    task: LayingTask | None = None

    @property
    def length_mm(self) -> float:
        """Cloth used."""
        return sum(checked.layout.length_mm for checked in self.every)

    @cached_property
    def laid(self) -> tuple[LaidCloth, ...]:
        """Each layout with what is bought and what is left."""
        return tuple(map(laid_cloth, self.every))

    @cached_property
    def scenes(self) -> tuple[Scene, ...]:
        """What there is to draw of each layout."""
        return tuple(build_scene(each, purchase_for(each)) for each in self.every)

    @cached_property
    def keys(self) -> dict[str, PieceKey]:
        """What the page calls a piece -> which it is; of a cut in two plies, the upper one."""
        return {
            piece_name(piece): PieceKey(piece.name, piece.size, piece.garment or 1, piece.copy)
            for scene in self.scenes
            for piece in scene.pieces
        }

    def key(self, name: str) -> PieceKey:
        """The piece that the page calls so; raises CannotBeDone for none."""
        if name not in self.keys:
            raise CannotBeDone(f"there is no piece '{name}'.")
        return self.keys[name]


def piece_name(piece: PieceDrawing) -> str:
    """What the page calls a piece, wherever it lies."""
    return f"{piece.name}, {piece.size}, {piece.garment or 1}, {piece.copy}"


@dataclass(frozen=True, eq=False)
class Earlier:
    """A step of an earlier day. load : reads and judges its layouts; raises MarkerError."""

    pinned: frozenset[PieceKey]
    load: Callable[[], tuple[CheckedLayout, ...]]

    def arrangement(self) -> Arrangement:
        """As it can be laid on the table again."""
        return Arrangement(self.load(), self.pinned)


@dataclass
class Tabletop:
    """What lay on the table, one after another; `at` is what lies there now, -1 for nothing."""

    job: Job
    cloth: str
    past: list[Arrangement | Earlier] = field(default_factory=list)
    at: int = -1
    _hands: dict[Arrangement, LayoutByHand] = field(default_factory=dict, repr=False)
    _making: Lock = field(default_factory=Lock, repr=False)
    _nudges: Nudges = field(default_factory=Nudges, repr=False)

    @property
    def now(self) -> Arrangement:
        """What lies there; raises CannotBeDone for nothing."""
        if not self.past:
            raise CannotBeDone("nothing is laid yet. Lay the job first.")
        now = self.past[self.at]
        if isinstance(now, Earlier):
            self.past[self.at] = now = now.arrangement()
        return now

    @property
    def is_empty(self) -> bool:
        return not self.past

    @property
    def can_undo(self) -> bool:
        return self.at > 0

    @property
    def can_redo(self) -> bool:
        return self.at < len(self.past) - 1

    @property
    def whole_cloth(self) -> Cloth:
        """The cloth as the job says it, with all its remnants where it is those."""
        return next(each for each in self.job.cloths if each.name == self.cloth)

    @cached_property
    def load(self) -> ClothLoad:
        """What is to be laid on the cloth."""
        return loads(self.job, [self.whole_cloth])[0]

    @cached_property
    def task(self) -> LayingTask:
        """The same as the job says that the cloth lies; remnants lie side by side."""
        return task_by_hand(self.load)

    # -- one thing after another

    def put(self, arrangement: Arrangement) -> None:
        """Lay something else on the table; what had been undone is gone."""
        self.past = [*self.past[: self.at + 1], arrangement]
        self.at = len(self.past) - 1

    def step(self, by: int) -> None:
        """Undo (-1) or redo (1), as far as there is something that the job still allows."""
        while 0 <= self.at + by < len(self.past):
            there = self.past[self.at + by]
            try:
                if isinstance(there, Earlier):
                    self.past[self.at + by] = there.arrangement()
            except MarkerError:
                del self.past[self.at + by]
                self.at -= by < 0
            else:
                self.at += by
                return

    # -- by hand

    def pin(self, names: Iterable[str], pinned: bool) -> None:
        """Pin pieces where they lie, or let them go."""
        keys = frozenset(map(self.now.key, names))
        held, hand = self.now.pinned, self._hands.get(self.now)
        self.put(replace(self.now, pinned=held | keys if pinned else held - keys))
        if hand is not None:
            self._hands[self.now] = hand

    def slide(self, name: str, dx_mm: float, dy_mm: float) -> tuple[float, float] | None:
        """How far a piece gets if it is moved so far; None where there is no free place."""
        key, hand = self._movable(name), self.hand()
        try:
            return hand.slid(key, dx_mm, dy_mm).shifted_mm(key, hand)
        except CannotBeDone:
            return None

    def move(self, name: str, dx_mm: float, dy_mm: float, *, nudged: bool = False) -> None:
        """Slide a piece to the free place nearest to so far away. nudged : by an arrow key, whose
        presses within a moment are one step."""
        thing = name if nudged else None
        goes_on = self._nudges.go_on(thing, self.now)
        self._put_by_hand(self.hand().slid(self._movable(name), dx_mm, dy_mm), instead=goes_on)
        self._nudges.made(thing, self.now)

    def turn(self, name: str) -> None:
        """Turn a piece on to the next way that it may lie."""
        self._put_by_hand(self.hand().turned(self._movable(name)))

    def swap(self, one: str, other: str) -> None:
        """Two pieces in one another's places."""
        self._put_by_hand(self.hand().swapped(self._movable(one), self._movable(other)))

    def laid(self, limits: SearchLimits, on_event: OnEvent, tried: Job | None) -> Arrangement:
        """The cloth laid anew, around what is pinned where something is. tried : the job with
        another width, where that is tried."""
        if tried is not None:
            task = replace(self, job=tried).task
            return Arrangement((lay_task(task, limits, on_event),), task=task)
        if self.past and self.now.pinned:
            laid = self.hand().rest_laid(self.now.pinned, limits, on_event)
            made = replace(self.now, every=laid.checked())
            self._hands[made] = laid
            return made
        if self.whole_cloth.remnants:
            return Arrangement(lay_on_remnants(self.load, limits, on_event))
        return Arrangement((lay_task(self.task, limits, on_event),))

    def hand(self) -> LayoutByHand:
        """What lies there, ready to be changed; the first time that takes a moment, which may be
        taken beforehand in another thread."""
        with self._making:
            now = self.now
            if now not in self._hands:
                layouts = [each.layout for each in now.every]
                self._hands[now] = by_hand(now.task or self.task, layouts)
            return self._hands[now]

    def _movable(self, name: str) -> PieceKey:
        key = self.now.key(name)
        if key in self.now.pinned:
            raise CannotBeDone(f"{key.piece} is pinned. Let it go first.")
        return key

    def _put_by_hand(self, hand: LayoutByHand, *, instead: bool = False) -> None:
        """instead : of what lies there, which is then no step of its own."""
        before = self.now
        made = replace(before, every=hand.checked())
        if instead:
            self._hands.pop(before, None)
            self.at -= 1
        self.put(made)
        self._hands[made] = hand
