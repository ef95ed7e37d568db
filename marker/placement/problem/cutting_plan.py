"""Ways to cut copies from a spread cloth: what goes through two plies, what becomes of the rest."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from itertools import compress
from operator import not_

from marker.cloth.fabric import Cloth
from marker.cloth.folding import refusal
from marker.cloth.spread import Spreading
from marker.errors import CannotBeDone
from marker.pattern.repeats.phases import Hand
from marker.placement.problem.cuts import Cut, Label, cut_through_two_plies
from marker.placement.problem.prepare import Stretch, may_lie, stretches
from marker.placement.problem.table import Table, one_ply_table, table_beyond, two_ply_table
from marker.placement.problem.ties import Tie, alike_on_both_plies

CuttingPlan = tuple[Stretch, ...]
"""Stretches of the table in order: all that is cut from it."""


def cutting_plans(
    items: Sequence[Label], spreading: Spreading, cloth: Cloth, tied: Mapping[Hand, Tie]
) -> tuple[CuttingPlan, ...]:
    """The ways to cut all items from a cloth spread like this; the shortest counts.

    Copies left over from two plies are cut through both with a spare each, or all from a stretch
    beyond, laid open in one ply. tied : hands that the cloth's pattern ties. With the bars of both
    plies pinned on each other they may be cut through two that are folded along the cloth, all of
    them, since the stretch beyond begins anywhere in the repeat. Raises CannotBeDone where the
    cloth can't be spread like this, is too narrow for a piece, or where nothing is gained by two
    plies.
    """
    refused = refusal(spreading, cloth)
    if refused:
        raise CannotBeDone(f"{refused[0]}. {refused[1]}.")
    if spreading.plies == 1:
        table = one_ply_table(spreading, cloth, tied)
        return (stretches([(table, [Cut(label) for label in items])]),)
    if tied:
        _demand_alike_plies(tied, spreading, cloth)
    table = two_ply_table(spreading, cloth, tied)
    may_lie = _asked_once(table)
    cuts, left = cut_through_two_plies(items, may_lie)
    if not cuts:
        raise CannotBeDone(
            f"no piece can be cut as a pair through both plies of {cloth.name}, or on its fold, "
            f"when that lies '{spreading}'. Lay it in one ply."
        )
    ways = list(_ways_with_the_rest(cuts, left, may_lie))
    if cloth.flaws or tied:  # where the stretch beyond, or the ply below, begins is not yet known
        ways = [(through, rest) for through, rest in ways if not rest and not spreading.ends_meet]
    if not ways:
        raise CannotBeDone(
            f"where the flaws or the repeat of {cloth.name} come to lie is not known for all "
            f"pieces before it is cut when it "
            f"lies '{spreading}'. Lay it in one ply."
        )
    beyond = table_beyond(spreading, cloth)
    return tuple(
        stretches([(table, through), *([(beyond, [Cut(each) for each in rest])] if rest else [])])
        for through, rest in ways
    )


def _demand_alike_plies(tied: Mapping[Hand, Tie], spreading: Spreading, cloth: Cloth) -> None:
    """Raises CannotBeDone where what is tied would lie off the pattern on the ply below."""
    if spreading.ends_meet:
        raise CannotBeDone(
            f"{cloth.name} has pieces tied to its pattern, which runs back on the ply below when "
            f"it lies '{spreading}'. Lay it in one ply, or lengthwise if they are tied along only."
        )
    if not alike_on_both_plies(tied):
        raise CannotBeDone(
            f"{cloth.name} shows another place of its pattern on the ply below when it lies "
            f"'{spreading}', and pieces are matched across it, lie on its border, or have hands "
            f"matched apart along it. Lay it in one ply."
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
