"""Cutting from a spread cloth: what goes through two plies and what becomes of the rest; and from
arrangements on the table back to placements on the cloth opened flat.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import compress
from operator import not_

import numpy as np

from marker.cloth.fabric import Cloth
from marker.cloth.folding import Image, Lane, image, refusal
from marker.cloth.spread import Spread, Spreading
from marker.errors import CannotBeDone, Part
from marker.geometry import polygons
from marker.layout import Placement
from marker.pattern.repeats.phases import Hand
from marker.placement.problem.cuts import Cut, Label, cut_through_two_plies
from marker.placement.problem.orientations import sum_of_turns
from marker.placement.problem.prepare import Stretch, may_lie, placed, stretches
from marker.placement.problem.statement import (
    Arrangement,
    Orientation,
    PlacementProblem,
    strip_length,
)
from marker.placement.problem.table import Table, one_ply_table, table_beyond, two_ply_table
from marker.placement.problem.ties import Tie, alike_on_both_plies, ties_of

CuttingPlan = tuple[Stretch, ...]
"""Stretches of the table in order: all that is cut from it."""


def cutting_plans(
    items: Sequence[Label], spreading: Spreading, cloth: Cloth, tied: Mapping[Hand, Tie]
) -> tuple[CuttingPlan, ...]:
    """The ways to cut all items from a cloth spread like this; the shortest counts.

    Copies left over from two plies are cut through both with a spare each, or all from a stretch
    beyond, laid open in one ply. tied : hands that the cloth's pattern ties. With the bars of both
    plies pinned on each other they may be cut through two that are folded along the cloth. All of
    them may, since the stretch beyond begins anywhere in the repeat. Raises CannotBeDone where the
    cloth can't be spread like this, is too narrow for a piece, or where nothing is gained by two
    plies.
    """
    about = [(Part.CLOTH, cloth.name)]
    refused = refusal(spreading, cloth)
    if refused:
        raise CannotBeDone(f"{refused[0]}. {refused[1]}.", about)
    if spreading.plies == 1:
        table = one_ply_table(spreading, cloth, tied)
        return (stretches([(table, [Cut(label) for label in items])]),)
    if tied:
        about += ties_of(label.piece for label in items)
        _demand_alike_plies(tied, spreading, cloth, about)
    table = two_ply_table(spreading, cloth, tied)
    may_lie = _asked_once(table)
    cuts, left = cut_through_two_plies(items, may_lie)
    if not cuts:
        raise CannotBeDone(
            f"no piece can be cut as a pair through both plies of {cloth.name}, or on its fold, "
            f"when that lies '{spreading}'. {_in_one_ply(cloth)}.",
            about,
        )
    ways = list(_ways_with_the_rest(cuts, left, may_lie))
    if cloth.flaws or tied:  # where the stretch beyond, or the ply below, begins is not yet known
        ways = [(through, rest) for through, rest in ways if not rest and not spreading.ends_meet]
    if not ways:
        raise CannotBeDone(
            f"where the flaws or the repeat of {cloth.name} come to lie is not known for all "
            f"pieces before it is cut when it "
            f"lies '{spreading}'. {_in_one_ply(cloth)}.",
            about,
        )
    beyond = table_beyond(spreading, cloth)
    return tuple(
        stretches([(table, through), *([(beyond, [Cut(each) for each in rest])] if rest else [])])
        for through, rest in ways
    )


def _in_one_ply(cloth: Cloth) -> str:
    """What to do where two plies are of no use."""
    way = Spreading.SLIT_OPEN if cloth.tube else Spreading.OPEN
    return f'Lay it in one ply, spread = "{way}"'


def _demand_alike_plies(
    tied: Mapping[Hand, Tie],
    spreading: Spreading,
    cloth: Cloth,
    about: Sequence[tuple[Part, str]],
) -> None:
    """Raises CannotBeDone where what is tied would lie off the pattern on the ply below.

    about : the cloth, and what ties its pieces."""
    if spreading.ends_meet:
        raise CannotBeDone(
            f"{cloth.name} has pieces tied to its pattern, which runs back on the ply below when "
            f"it lies '{spreading}'. {_in_one_ply(cloth)}, or lay it folded lengthwise if they are "
            "tied along only.",
            about,
        )
    if not alike_on_both_plies(tied):
        raise CannotBeDone(
            f"{cloth.name} shows another place of its pattern on the ply below when it lies "
            f"'{spreading}', and pieces are matched across it, lie on its border, or have hands "
            f"matched apart along it. {_in_one_ply(cloth)}.",
            about,
        )


def _ways_with_the_rest(
    cuts: tuple[Cut, ...], left: tuple[Label, ...], may_lie: Callable[[Cut], bool]
) -> Iterator[tuple[tuple[Cut, ...], tuple[Label, ...]]]:
    """What is cut through two plies and what beyond: spares wherever they fit, then none."""
    spared = [may_lie(Cut(label, spare=True)) for label in left]
    if any(spared):
        spares = (Cut(label, spare=True) for label in compress(left, spared))
        yield (*cuts, *spares), tuple(compress(left, map(not_, spared)))
    yield cuts, left


def _asked_once(table: Table) -> Callable[[Cut], bool]:
    """`may_lie` on a table, for each kind of cut worked out once."""
    known: dict[object, bool] = {}

    def asked(cut: Cut) -> bool:
        if cut.kind not in known:
            known[cut.kind] = may_lie(cut, table)
        return known[cut.kind]

    return asked


@dataclass(frozen=True)
class Flat:
    """What a layout says of where things lie; lengths in mm. See `Layout`."""

    placements: tuple[Placement, ...]
    spares: tuple[Placement, ...]
    spread: Spread
    length_mm: float

    def moved_back(self, mm: float) -> Flat:
        """The same so far nearer to the start, where nothing lies."""
        by = np.array([mm, 0.0])

        def moved(each: Placement) -> Placement:
            return replace(each, x_mm=each.x_mm - mm, outline_mm=each.outline_mm - by)

        return Flat(
            tuple(map(moved, self.placements)),
            tuple(map(moved, self.spares)),
            replace(self.spread, two_ply_mm=max(0.0, self.spread.two_ply_mm - mm)),
            self.length_mm - mm,
        )


@dataclass(frozen=True)
class Arranged:
    """A stretch as it was laid. problem : the one that the arrangement is of."""

    stretch: Stretch
    problem: PlacementProblem
    arrangement: Arrangement

    @property
    def length_mm(self) -> float:
        """Length of the table that it takes."""
        return strip_length(self.problem, self.arrangement)


def opened_flat(spreading: Spreading, cloth: Cloth, parts: Sequence[Arranged]) -> Flat:
    """The stretches of one cutting plan on the cloth, one behind the other."""
    first = parts[0]
    spread = _spread(spreading, cloth, first.length_mm)
    end = flat_length(spreading, cloth, [first.length_mm])
    found = list(_both_plies(spread, first))
    for part in parts[1:]:
        start = end + cloth.gap_mm
        found += [(placement, False) for placement in _upper(part, start)]
        end = start + part.length_mm
    return Flat(
        tuple(placement for placement, is_spare in found if not is_spare),
        tuple(placement for placement, is_spare in found if is_spare),
        spread,
        end,
    )


def flat_length(spreading: Spreading, cloth: Cloth, lengths: Sequence[float]) -> float:
    """Length of cloth for stretches of these lengths of the table, mm. Cloth laid end on end is
    twice as long, with half a gap kept on either side of the fold or of the cut."""
    first, *rest = lengths
    if spreading.ends_meet:
        first = 2 * first + cloth.gap_mm
    return first + sum(cloth.gap_mm + length for length in rest)


def in_order(placements: Sequence[Placement], items: Sequence[Label]) -> tuple[Placement, ...]:
    """Placements in the order of the labels they lay."""
    order = {each.key: k for k, each in enumerate(items)}
    return tuple(sorted(placements, key=lambda placement: order[placement.key]))


def _spread(spreading: Spreading, cloth: Cloth, length: float) -> Spread:
    """length : of the table where the first stretch lies."""
    if spreading.plies == 1:
        return Spread(spreading)
    kept = {Spreading.FOLDED_CROSSWISE: cloth.gap_mm / 2, Spreading.CUT_AND_TURNED: cloth.gap_mm}
    return Spread(spreading, length + kept.get(spreading, 0.0))


def _upper(part: Arranged, start: float) -> Iterator[Placement]:
    """What is seen of each cut. start : x of the flat cloth where the table begins."""
    for cut, orientation, position in _seen(part):
        x, y = position[0] + start, position[1] + part.stretch.table.start_mm
        yield placed(
            upper_label(cut, orientation), orientation.rotation_deg, orientation.mirrored, x, y
        )


def _seen(part: Arranged) -> Iterator[tuple[Cut, Orientation, tuple[float, float]]]:
    """Each cut with its way to lie, and where its outline is moved on the table."""
    for cut, item, at in zip(part.stretch.cuts, part.problem.items, part.arrangement, strict=True):
        orientation = item.orientations[at.orientation]
        yield cut, orientation, (at.x + orientation.shift[0], at.y + orientation.shift[1])


def upper_label(cut: Cut, orientation: Orientation) -> Label:
    """The copy on the upper ply: that whose hand is seen. A spare goes by the other's name."""
    label, twin = cut.label, cut.twin
    return twin if twin is not None and orientation.mirrored != label.mirrored else label


def _both_plies(spread: Spread, part: Arranged) -> Iterator[tuple[Placement, bool]]:
    """All that comes of the first stretch, and of each whether it is a spare."""
    table = part.stretch.table
    start = table_start(spread, table)
    for upper, (cut, orientation, _) in zip(_upper(part, start), _seen(part), strict=True):
        unwanted = cut.spare and orientation.mirrored != cut.label.mirrored
        yield upper, unwanted
        if cut.twin is None and not cut.spare:
            continue
        below = image(spread, table.cloth, _lane(table, orientation))
        lower = cut.label if upper_label(cut, orientation) is cut.twin else cut.twin or cut.label
        yield _imaged(upper, lower, cut, table, below), cut.spare and not unwanted


def table_start(spread: Spread, table: Table) -> float:
    """Where along the flat cloth the table's strip begins, mm: 0, or at a fold across it."""
    if spread.spreading is Spreading.FOLDED_CROSSWISE:
        return spread.two_ply_mm + table.half_gap_mm
    return 0.0


def _lane(table: Table, orientation: Orientation) -> Lane:
    return next(lane for lane in table.lanes if table.strip_lane(lane) == orientation.lane)


def _imaged(upper: Placement, lower: Label, cut: Cut, table: Table, below: Image) -> Placement:
    """What the lower ply makes of a placement. Of a piece like its own mirror image it is a copy of
    the same hand in another turn, moved to where the outline is."""
    total = sum_of_turns(cut, table)
    assert total is not None  # the cut goes through two plies
    rotation = (total - upper.rotation_deg) % 360
    mirror, shift = np.array([below.along, below.across]), np.array([below.dx, below.dy])
    if cut.spare or (cut.twin is not None and cut.twin.mirrored != cut.label.mirrored):
        x, y = np.array([upper.x_mm, upper.y_mm]) * mirror + shift
        return placed(lower, rotation, not upper.mirrored, float(x), float(y))
    corner = polygons.turned(lower.piece.outline, rotation, upper.mirrored).min(axis=0)
    x, y = (upper.outline_mm * mirror + shift).min(axis=0) - corner
    return placed(lower, rotation, upper.mirrored, float(x), float(y))
