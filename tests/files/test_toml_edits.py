"""Changes to a TOML text: they say what the same changes to its tables say, and touch no more."""

from __future__ import annotations

import copy
import difflib
import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from marker.files.faults import Unusable
from marker.files.toml_edits import Place, with_value, without

ROOT = Path(__file__).parents[2]
ODD = """\
name = "a"   # [not] a header
"quoted key" . order = { 38 = 1 } # dotted
order."38" = 1
order.40 = 2
cloth.jersey = { width = "150 cm", price = { amount = 12.50, per = "1 m" }, empty = {} }
note = \"\"\"
[[piece]]
\"\"\"

[[piece]]
name = "front"
points = [[0, 0], [100, 0], [100, 100]]
# belt
[[strip]]
name = "belt"   # tied
width = "5 cm"

[[piece]]
name = "back"
points = [
    [0, 0], # first
    [100, 0],
    [100, 100] # last
]
[piece.hems]
hem = "rolled"
[piece.hems.side]
kind = "rolled"

# the end

[cloth.lining]
[cloth.lining.price]
amount = 3
"""
ODD_ONES = {"odd": ODD, "windows": ODD.replace("\n", "\r\n"), "unended": ODD.rstrip("\n")}
TEXTS = {
    **ODD_ONES,
    **{path.parent.name: path.read_text() for path in ROOT.glob("pieces/*/job.toml")},
    "starter": (ROOT / "marker/jobfile/starter.toml").read_text(),
}


def some_places(text: str) -> list[Place]:
    """All places of a short text, one of three of a long one."""
    places = list(all_places(tomllib.loads(text)))
    return places[:: 1 if len(places) < 100 else 3]


def all_places(value: Any, place: Place = ()) -> Iterator[Place]:
    if place:
        yield place
    inside: Any = ()
    if isinstance(value, dict | list):
        inside = value.items() if isinstance(value, dict) else enumerate(value)
    for step, each in inside:
        yield from all_places(each, (*place, step))


def held(tables: Any, place: Place) -> Any:
    for step in place:
        tables = tables[step]
    return tables


def comments(text: str) -> list[str]:
    return [line.strip() for line in text.splitlines() if line.strip().startswith("#")]


@pytest.mark.parametrize("name", TEXTS)
def test_removing_any_value_removes_that_and_no_more(name: str) -> None:
    text = TEXTS[name]
    for place in some_places(text):
        wanted = tomllib.loads(text)
        holder = held(wanted, place[:-1])
        del holder[place[-1]]
        left = tomllib.loads(without(text, place))
        assert left == wanted or _bare(left, wanted, place), place
        if len(place) > 2:  # of a whole block the notes between its lines go, too
            assert comments(without(text, place)) == comments(text)


def _bare(left: dict[str, Any], wanted: dict[str, Any], place: Place) -> bool:
    """Whether all that differs is a table or list that is left empty: it may go, too."""
    emptied = copy.deepcopy(wanted)
    while place := place[:-1]:
        if not held(emptied, place):
            del held(emptied, place[:-1])[place[-1]]
        if left == emptied:
            return True
    return False


@pytest.mark.parametrize("name", TEXTS)
def test_setting_any_plain_value_changes_one_line(name: str) -> None:
    text = TEXTS[name]
    for place in some_places(text):
        wanted = tomllib.loads(text)
        if isinstance(held(wanted, place), dict | list):
            continue
        held(wanted, place[:-1])[place[-1]] = 'a "new" value'
        changed = with_value(text, place, 'a "new" value')
        assert tomllib.loads(changed) == wanted
        assert comments(changed) == comments(text)
        if "\n" not in repr(held(tomllib.loads(text), place)).replace("\\n", "\n"):
            before, after = text.splitlines(), changed.splitlines()
            assert sum(a != b for a, b in zip(before, after, strict=True)) == 1


@pytest.mark.parametrize("name", TEXTS)
@pytest.mark.parametrize("value", [7, "x", [1, 2], {"kind": "rolled", "depth": 3}])
def test_adding_to_any_table_or_list(name: str, value: Any) -> None:
    text = TEXTS[name]
    for place in [(), *some_places(text)]:
        wanted = tomllib.loads(text)
        holder = held(wanted, place)
        if isinstance(holder, dict):
            holder["new key"] = value
            step: str | int = "new key"
        elif isinstance(holder, list):
            step = len(holder)
            holder.append(value)
        else:
            continue
        tables = [each for each in holder if isinstance(each, dict)]
        takes_tables = place == ("cloth",) or (step != "new key" and len(place) == 1 and tables)
        if takes_tables and not isinstance(value, dict):
            with pytest.raises(Unusable, match="a table is expected"):
                with_value(text, (*place, step), value)
            continue
        changed = with_value(text, (*place, step), value)
        assert tomllib.loads(changed) == wanted, place
        assert comments(changed) == comments(text)
        assert _lines_lost(text, changed) <= 1


def _lines_lost(before: str, after: str) -> int:
    lines = difflib.ndiff(before.splitlines(), after.splitlines())
    return sum(line.startswith("- ") for line in lines)


@pytest.mark.parametrize("name", TEXTS)
def test_what_is_missing_on_the_way_is_made(name: str) -> None:
    text = TEXTS[name]
    ways: list[Place] = [("new", "table", "key"), ("absent", 0, "name"), ("list", 0, 0, "key")]
    for place in ways:
        wanted = tomllib.loads(text)
        value: Any = 3
        for step in reversed(place[1:]):
            value = [value] if step == 0 else {step: value}
        wanted[str(place[0])] = value
        assert tomllib.loads(with_value(text, place, 3)) == wanted


def test_entries_are_named_by_their_tables() -> None:
    changed = with_value(ODD, ("piece", "back", "hems", "hem"), "turned once")
    assert tomllib.loads(changed)["piece"][1]["hems"]["hem"] == "turned once"
    assert len(tomllib.loads(without(ODD, ("piece", "front")))["piece"]) == 1


def test_a_table_under_a_header_is_changed_key_by_key() -> None:
    changed = with_value(ODD, ("strip", "belt"), {"name": "belt", "length": "9 cm"})
    assert tomllib.loads(changed)["strip"] == [{"name": "belt", "length": "9 cm"}]
    assert "# tied" in changed


@pytest.mark.parametrize(
    ("place", "problem"),
    [
        (("piece", "sleeve", "cut"), "'sleeve'"), (("piece", 5), "no entry 5"),
        (("name", "x"), "nothing can be inside"), (("new", 3), "no such list"),
    ],
)  # fmt: skip
def test_places_that_cannot_be(place: Place, problem: str) -> None:
    with pytest.raises(Unusable, match=problem):
        with_value(ODD, place, 1)


@pytest.mark.parametrize("place", [("piece", 2), ("piece", 0, "cut"), ("new",), ("new", "key")])
def test_what_is_not_there_cannot_be_removed(place: Place) -> None:
    with pytest.raises(Unusable, match="nothing at this place"):
        without(ODD, place)
