"""Parameters check themselves, and are changed by name."""

from __future__ import annotations

import pytest

from marker.placement.lp.compaction import CompactionParams
from marker.placement.params import DEFAULT, PlacementParams, StageParams
from marker.placement.search.state import SeparationParams
from marker.placement.search.trajectory import SearchParams
from marker.placement.solve import solve
from marker.placement.stop import after_iterations
from tests.placement.arrangements import cast_problem


def test_a_change_by_name_leaves_all_else_as_it_was() -> None:
    changed = DEFAULT.with_changes({"search.spells": "40", "separation.fine": 0.02})
    assert (changed.search.spells, changed.separation.fine) == (40, 0.02)
    others = {name: value for name, value in changed.numbers().items() if value}
    kept = {name: value for name, value in DEFAULT.numbers().items() if value}
    assert {name for name in kept if kept[name] != others[name]} == {
        "search.spells", "separation.fine",
    }  # fmt: skip
    assert PlacementParams() == DEFAULT


@pytest.mark.parametrize(
    ("name", "value", "said"),
    [
        ("search.spell5", 3, "Did you mean search.spell"),
        ("spells", 3, "Did you mean search.spells"),
        ("search", 3, "there is no search"),
        ("search.spells", 0, "at least 1"),
        ("search.spells", "four", "four"),
        ("heats.compression", 1.5, "from 0 to 1"),
        ("separation.finest", 0.9, "not be more than fine"),
        ("compaction.lap_mm", 0.1, "not below"),
        ("stages.effort_per_iteration", float("nan"), "above 0"),
    ],
)
def test_what_cannot_be_is_refused_with_its_name(name: str, value: str | float, said: str) -> None:
    with pytest.raises(ValueError, match=said):
        DEFAULT.with_changes({name: value})


def test_parts_check_themselves() -> None:
    for make in (
        lambda: SearchParams(spell=0),
        lambda: SeparationParams(kept=0),
        lambda: CompactionParams(reach=0.0),
        lambda: StageParams(exact_from=0.97),
    ):
        with pytest.raises(ValueError, match="Params"):
            make()


def test_a_run_reads_them() -> None:
    given = cast_problem(("cup", "star", "ell", "notched") * 4, 450.0)
    stop = after_iterations(3)
    usual = solve(given, stop, 0, 1, lambda _: None)
    again = solve(given, stop, 0, 1, lambda _: None, DEFAULT.with_changes({"heats.turn": 8}))
    other = solve(given, stop, 0, 1, lambda _: None, DEFAULT.with_changes({"separation.near": 0}))
    assert usual.arrangement == again.arrangement
    assert usual.arrangement != other.arrangement
