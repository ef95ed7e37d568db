"""A layout changed by hand: pieces slid, turned and swapped, and the rest laid around some.

Nothing ever lies over another, off the cloth, or against its grain, nap or repeat: a piece goes to
the nearest free place that it may have. Where the cloth lies in two plies, a piece takes along what
is cut below it. Remnants lie on one table, so a piece may go from one to another.

A piece keeps its number: the person who moves it has the printed diagram in hand.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from math import hypot
from typing import NamedTuple

from marker.cloth.spread import Spreading
from marker.errors import CannotBeDone
from marker.layout import CheckedLayout, Ending, Layout, PieceKey
from marker.layout.on_table import numbers
from marker.placement.free_places import FreePlaces
from marker.placement.problem.as_laid import plan_as_laid
from marker.placement.problem.cutting_plans import Arranged
from marker.placement.problem.pinned import Pinned, pinned
from marker.placement.problem.statement import Orientation, Position
from marker.placement.solve import solve
from marker.placement.stop import Progress
from marker.planning.events import (
    BetterLayoutFound,
    OnEvent,
    SearchBegan,
    SearchEnded,
    progressed,
    trying_on,
)
from marker.planning.limits import SearchLimits
from marker.planning.remnant_table import apart, remnant_at, remnant_task, room_mm, together
from marker.planning.tasks import ClothLoad, LayingTask, spread
from marker.tolerances import JUDGED_MM

_NO_OTHER_WAY = (
    "the rest was not made to fit around what is pinned. That does not prove that it can't: give "
    "the search more time, or let some pieces go."
)


class _Item(NamedTuple):
    """Which stretch a piece is cut from, and the number of its item there."""

    stretch: int
    number: int


Numbers = Mapping[tuple[str, PieceKey], int]
"""Remnant, "" where the cloth is none, and piece -> its number on the diagram of that."""


@dataclass(frozen=True)
class LayoutByHand:
    """A layout as it lies on its table. Each change gives another one.

    arranged : each stretch of the table. before : the layouts that it was made from: one, or one
    for each remnant that had pieces. ending : how it came about.
    """

    task: LayingTask
    arranged: tuple[Arranged, ...]
    before: tuple[Layout, ...]
    ending: Ending
    _places: tuple[FreePlaces, ...] = field(repr=False, compare=False)
    _numbers: Numbers = field(repr=False, compare=False)

    def checked(self) -> tuple[CheckedLayout, ...]:
        """As it lies now, passed by the judge: one layout, or one for each remnant with pieces."""
        before = self.before[0]
        layout = self.task.layout(
            self.arranged, self._bound_mm, self.ending, before.seed, before.seconds
        )
        if before.unmatched_mm is not None:
            unmatched = min(before.unmatched_mm, layout.length_mm)
            layout = replace(layout, unmatched_mm=unmatched)
        layout = layout.numbered(self.numbers())
        if self._on_remnants:
            return apart(layout, self.before, self.task.load)
        return (self.task.checked(layout),)

    def numbers(self) -> dict[PieceKey, int]:
        """The number of each piece on the diagram of the cloth or remnant where it lies."""
        return {key: self._numbers[self._remnant(at), key] for key, at in self._items.items()}

    @property
    def _on_remnants(self) -> bool:
        return bool(self.task.cloth.remnants)

    @property
    def _bound_mm(self) -> float:
        """Proven of the table; nothing is where that holds several layouts."""
        return 0.0 if self._on_remnants else self.before[0].length_lower_bound_mm

    def slid(self, key: PieceKey, dx_mm: float, dy_mm: float) -> LayoutByHand:
        """With a piece moved along and across the cloth, to the nearest free place.

        Raises CannotBeDone where there is no free place at all.
        """
        at = self._item(key)
        now = self._position(at)
        given = self._orientation(at, now)
        alike = [
            replace(now, x=now.x + dx_mm, y=now.y + dy_mm, orientation=number)
            for number, each in enumerate(self._orientations(at))
            if (each.rotation_deg, each.mirrored) == (given.rotation_deg, given.mirrored)
        ]
        return self._with({at: self._nearest(at, alike, ())})

    def turned(self, key: PieceKey) -> LayoutByHand:
        """With a piece turned on to the next way that it may lie, to the nearest free place.

        Raises CannotBeDone where it may lie in one way only.
        """
        at = self._item(key)
        now = self._position(at)
        return self._with({at: self._nearest(at, self._turns(key, at, now), ())})

    def swapped(self, key: PieceKey, other: PieceKey) -> LayoutByHand:
        """With two pieces in one another's places, or as near to them as there is a free place.

        Raises CannotBeDone where they are cut at once, from stretches of their own, or find none.
        """
        one, two = self._item(key), self._item(other)
        if one == two:
            raise CannotBeDone(f"{key} and {other} are cut at once.")
        if one.stretch != two.stretch:
            raise CannotBeDone(
                f"{key} and {other} can't be swapped: one is cut from two plies, the "
                f"other from one."
            )
        first, second = self._middle(one), self._middle(two)
        wish = self._centred(one, self._position(one), second)
        moved = self._with({one: self._nearest(one, [wish], (two.number,))})
        wish = self._centred(two, self._position(two), first)
        return moved._with({two: moved._nearest(two, [wish], ())})

    def rest_laid(
        self, pins: Collection[PieceKey], limits: SearchLimits, on_event: OnEvent
    ) -> LayoutByHand:
        """With all pieces but the pinned ones laid anew, around these; as it lies now where nothing
        shorter is found.

        On remnants the first way that fits is taken; raises CannotBeDone where none is found.
        """
        about = self.task.cloth.name
        room = room_mm(self.task.cloth)
        if self._on_remnants:
            limits = replace(limits, enough_mm=room + JUDGED_MM / 2, hopeless_mm=room + JUDGED_MM)
        on_event(SearchBegan(about, self.task.cloth, limits.seconds))
        held = [
            {at.number for at in map(self._item, pins) if at.stretch == k}
            for k in range(len(self.arranged))
        ]
        free = [
            len(part.problem.items) - len(own)
            for part, own in zip(self.arranged, held, strict=True)
        ]
        arranged, ending, spent = self.arranged, self.ending, 0.0
        for stretch, (part, fixed) in enumerate(zip(self.arranged, held, strict=True)):
            if not free[stretch]:
                continue
            kept = pinned(part.problem, part.arrangement, fixed)
            own = limits.part(free[stretch] / sum(free))
            teller = _Teller(self, arranged, stretch, kept, limits, on_event, spent)
            found = solve(kept.rest, own.rule(), limits.seed, limits.workers, teller)
            spent += found.seconds
            laid = Arranged(part.stretch, *kept.restored(found.problem, found.arrangement))
            if self._on_remnants and laid.length_mm > room + JUDGED_MM:
                raise CannotBeDone(_NO_OTHER_WAY)
            if self._on_remnants or laid.length_mm < part.length_mm:
                arranged = (*arranged[:stretch], laid, *arranged[stretch + 1 :])
                ending = found.ending
        result = self._of(arranged, ending)
        for checked in result.checked():
            on_event(SearchEnded(about, checked))
        return result

    def shifted_mm(self, key: PieceKey, before: LayoutByHand) -> tuple[float, float]:
        """How far a piece lies along and across the cloth from where it lay before, unturned."""
        now, then = self._position(self._item(key)), before._position(before._item(key))
        return (now.x - then.x, now.y - then.y)

    # -- where things lie

    @cached_property
    def _items(self) -> dict[PieceKey, _Item]:
        return {
            key: _Item(stretch, number)
            for stretch, part in enumerate(self.arranged)
            for number, cut in enumerate(part.stretch.cuts)
            for key in cut.keys
        }

    def _item(self, key: PieceKey) -> _Item:
        if key not in self._items:
            raise CannotBeDone(f"{key} is not on {self.task.cloth.name}.")
        return self._items[key]

    def _position(self, at: _Item) -> Position:
        return self.arranged[at.stretch].arrangement[at.number]

    def _orientations(self, at: _Item) -> Sequence[Orientation]:
        return self.arranged[at.stretch].problem.items[at.number].orientations

    def _orientation(self, at: _Item, position: Position) -> Orientation:
        return self._orientations(at)[position.orientation]

    def _middle(self, at: _Item) -> tuple[float, float]:
        """Of the bounding box of a piece where it lies."""
        position = self._position(at)
        shape = self._orientation(at, position).shape
        along, across = self.arranged[at.stretch].problem.extent(shape)
        return position.x + along / 2, position.y + across / 2

    def _remnant(self, at: _Item) -> str:
        """The remnant that a piece lies on; "" where the cloth is none."""
        return remnant_at(self._middle(at)[1], self.task.cloth)

    def _centred(self, at: _Item, wish: Position, middle: tuple[float, float]) -> Position:
        """The wish, moved to have its middle there."""
        shape = self._orientation(at, wish).shape
        along, across = self.arranged[at.stretch].problem.extent(shape)
        return replace(wish, x=middle[0] - along / 2, y=middle[1] - across / 2)

    # -- where they may go

    def _turns(self, key: PieceKey, at: _Item, now: Position) -> list[Position]:
        """The next way to lie, in each lane, about the same middle."""
        problem = self.arranged[at.stretch].problem
        given, item = self._orientation(at, now), problem.items[at.number]
        alone = item.group < 0 or all(
            other.group != item.group for other in problem.items if other is not item
        )
        ways = dict.fromkeys(
            (each.rotation_deg, each.mirrored)
            for each in item.orientations
            if alone or each.direction == given.direction
        )
        every = list(ways)
        if len(every) < 2:
            held = "" if alone else " while the pieces of its garment point one way"
            raise CannotBeDone(f"{key} may lie in this way only{held}.")
        current = every.index((given.rotation_deg, given.mirrored))
        wanted = every[(current + 1) % len(every)]
        middle = self._middle(at)
        return [
            self._centred(at, replace(now, orientation=number), middle)
            for number, each in enumerate(item.orientations)
            if (each.rotation_deg, each.mirrored) == wanted
        ]

    def _nearest(self, at: _Item, wishes: Sequence[Position], lifted: Collection[int]) -> Position:
        """The free position nearest to one of the wishes."""
        places, part = self._places[at.stretch], self.arranged[at.stretch]
        room = room_mm(self.task.cloth)
        found = [
            (hypot(place.x - wish.x, place.y - wish.y), number, place)
            for number, wish in enumerate(wishes)
            if (place := places.nearest(part.arrangement, at.number, wish, room, lifted))
        ]
        if not found:
            raise CannotBeDone("there is no free place for this piece.")
        return min(found)[2]

    # -- what comes of it

    def _with(self, moved: dict[_Item, Position]) -> LayoutByHand:
        arranged = list(self.arranged)
        for at, position in moved.items():
            part = arranged[at.stretch]
            laid = list(part.arrangement)
            laid[at.number] = position
            arranged[at.stretch] = replace(part, arrangement=tuple(laid))
        return self._of(tuple(arranged), Ending.HAND_MADE)

    def _of(self, arranged: tuple[Arranged, ...], ending: Ending) -> LayoutByHand:
        """Free places are kept as long as their problem is the same."""
        places = tuple(
            known if known.problem is part.problem else FreePlaces(part.problem)
            for known, part in zip(self._places, arranged, strict=True)
        )
        moved = replace(self, arranged=arranged, ending=ending, _places=places)
        return moved._with_newcomers() if self._on_remnants else moved

    def _with_newcomers(self) -> LayoutByHand:
        """Pieces new on a remnant count on from the last number that it ever had, along it; one
        that comes back has its old number."""
        found = dict(self._numbers)
        for key, at in sorted(self._items.items(), key=lambda each: self._middle(each[1])):
            on = self._remnant(at)
            last = max((number for (where, _), number in found.items() if where == on), default=0)
            found.setdefault((on, key), last + 1)
        return replace(self, _numbers=found)


def task_by_hand(load: ClothLoad, spreading: Spreading | None = None) -> LayingTask:
    """What may be changed by hand of a load: its cloth spread like this, or as it says itself; all
    its remnants on one table where it is those. Raises CannotBeDone where that can't be."""
    return remnant_task(load) if load.cloth.remnants else spread(load, spreading)


def by_hand(task: LayingTask, layouts: Sequence[Layout]) -> LayoutByHand:
    """Layouts to be changed by hand. task : of `task_by_hand`, of the job that they lay.
    layouts : one, or one for each remnant of the cloth that has pieces.

    Raises CannotBeDone for layouts that are none of this task's.
    """
    cloth = task.cloth
    layout = together(layouts, cloth) if cloth.remnants else layouts[0]
    reason: CannotBeDone | None = None
    for plan in task.plans:
        try:
            if (arranged := plan_as_laid(plan, layout)) is not None:
                places = tuple(FreePlaces(part.problem) for part in arranged)
                ending, own = layout.stopped_because, _numbers(layouts)
                return LayoutByHand(task, arranged, tuple(layouts), ending, places, own)
        except CannotBeDone as error:
            reason = reason or error
    raise reason or CannotBeDone(
        f"the layout does not lay what the job now cuts from {cloth.name}. Lay the job anew."
    )


def _numbers(layouts: Sequence[Layout]) -> Numbers:
    return {
        (each.cloth.remnant.name if each.cloth.remnant else "", key): number
        for each in layouts
        for key, number in numbers(each).items()
    }


@dataclass
class _Teller:
    """Tells of a search for the rest of one stretch, each shorter layout as the whole one."""

    hand: LayoutByHand
    arranged: tuple[Arranged, ...]
    stretch: int
    kept: Pinned
    limits: SearchLimits
    on_event: OnEvent
    before: float
    best_mm: float = float("inf")

    def __call__(self, progress: Progress) -> None:
        task = self.hand.task
        plan = tuple(part.stretch for part in self.arranged)
        done = [part.length_mm for part in self.arranged[: self.stretch]]
        trying, allowed = trying_on(plan, done, progress), self.limits.seconds
        self.on_event(progressed(task.cloth.name, progress, self.before, allowed, trying))
        if progress.length >= self.best_mm or task.cloth.remnants:  # too long for those, on its way
            return
        self.best_mm = progress.length
        arranged = list(self.arranged)
        laid = self.kept.restored(progress.problem, progress.arrangement)
        arranged[self.stretch] = Arranged(arranged[self.stretch].stretch, *laid)
        bound = self.hand.before[0].length_lower_bound_mm
        seed, seconds = self.limits.seed, self.before + progress.seconds
        found = tuple(arranged), bound, seed, seconds, self.hand.numbers()
        self.on_event(BetterLayoutFound(task.cloth.name, task, *found))
