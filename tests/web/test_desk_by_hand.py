"""Pieces moved by hand at a desk: pushed, turned, swapped, pinned, taken to another remnant."""

from __future__ import annotations

from threading import Event
from typing import Any

import pytest

from marker.errors import CannotBeDone
from marker.web import nudging
from marker.web.desk import Desk
from tests.cli.commands import marker
from tests.web.table import Table


def test_a_piece_slides_to_the_nearest_free_place(table: Table) -> None:
    before = table.laid()
    reached = table.ask("layout slide", piece=table.key(1), by=[2000.0, 0.0])["by"]
    assert reached == pytest.approx([2000.0, 0.0], abs=0.1)  # beyond all others there is room
    assert table.ask("desk") == before  # asking moves nothing
    moved = table.ask("layout move", piece=table.key(1), by=[2000.0, 0.0])
    assert moved["layout"]["length_mm"] > before["layout"]["length_mm"] + 1000
    assert moved["can_undo"]
    assert table.ask("layout undo")["pieces"] == before["pieces"]


def test_a_piece_pushed_at_another_stops_there(table: Table) -> None:
    desk = table.laid()
    for piece in desk["pieces"]:
        by = table.ask("layout slide", piece=piece["key"], by=[7.0, 3.0])["by"]
        if by is not None and by != [0.0, 0.0]:
            again = table.ask("layout move", piece=piece["key"], by=[7.0, 3.0])
            assert len(again["pieces"]) == 7  # and the judge has passed it
            table.ask("layout undo")


def test_what_is_pinned_stays_when_the_rest_is_laid(table: Table) -> None:
    desk = table.laid()
    far = table.ask("layout move", piece=table.key(1), by=[300.0, 0.0])
    moved = max(far["pieces"], key=lambda piece: max(x for x, _ in piece["outline_mm"]))
    table.ask("layout pin", pieces=[moved["key"]], pinned=True)
    with pytest.raises(CannotBeDone, match="pinned"):
        table.ask("layout move", piece=moved["key"], by=[10.0, 0.0])
    with pytest.raises(CannotBeDone, match="Let them go first"):
        table.ask("layout lay", seconds=0.5, width="80 cm")
    after = table.laid()
    (held,) = [piece for piece in after["pieces"] if piece["pinned"]]
    assert held["outline_mm"] == moved["outline_mm"]
    assert desk["layout"]["length_mm"] < after["layout"]["length_mm"]


def test_pieces_turn_and_swap(table: Table) -> None:
    table.laid()
    assert table.ask("layout turn", piece=table.key(2))["can_undo"]
    assert len(table.ask("layout swap", pieces=[table.key(1), table.key(3)])["pieces"]) == 7


def test_pieces_keep_their_numbers(table: Table) -> None:
    """Moved, undone, done again, and when the page is opened another day."""

    def numbers(desk: Any) -> dict[str, int]:
        return {each["key"]: each["number"] for each in desk["pieces"]}

    before = numbers(table.laid())
    first = min(before, key=before.__getitem__)
    assert numbers(table.ask("layout move", piece=first, by=[2000, 0])) == before
    table.ask("layout pin", pieces=[first], pinned=True)
    assert numbers(table.ask("layout undo")) == before
    assert numbers(table.ask("layout undo")) == before
    assert numbers(table.ask("layout redo")) == before
    again = Desk(table.job, table.outputs, lambda _: None, Event())
    assert numbers(again.answer("desk", {})) == before
    assert numbers(again.answer("layout redo", {})) == before


def test_presses_of_an_arrow_key_are_one_step(
    table: Table, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(nudging, "MOMENT_SECONDS", 600.0)
    before = table.laid()
    first, second = (table.key(number) for number in (1, 2))

    def press(piece: str) -> Any:
        return table.ask("layout move", piece=piece, by=[3000, 0], nudged=True)

    def places(desk: Any) -> dict[str, Any]:
        return {each["key"]: each["outline_mm"] for each in desk["pieces"]}

    for _ in range(3):
        pressed = press(first)
    press(second)
    assert places(table.ask("layout undo")) == places(pressed)
    undone = table.ask("layout undo")
    assert places(undone) == places(before)
    assert table.ask("layout redo")["can_redo"]
    press(first)  # after a redo, a step of its own
    assert places(table.ask("layout undo")) == places(pressed)
    monkeypatch.setattr(nudging, "MOMENT_SECONDS", 0.0)
    press(first)
    press(first)  # after a while
    table.ask("layout undo")
    assert places(table.ask("layout undo")) == places(pressed)


REMNANTS = """, remnant = [
  { name = "from the skirt", points = [[0, 0], [900, 0], [900, 700], [0, 700]] },
  { name = "end of roll", points = [[0, 0], [500, 0], [500, 400], [0, 400]] },
]"""


def on_remnants(table: Table) -> Any:
    """The job with its cloth in two remnants, laid; the desk."""
    text = table.job.read_text(encoding="utf-8")
    changed = text.replace('{ width = "150 cm" }', f'{{ width = "150 cm"{REMNANTS} }}')
    table.job.write_text(changed, encoding="utf-8")
    return table.laid(2.0)


def moved_to(table: Table, piece: Any, along: float, across: float) -> Any:
    """The desk with a piece's box wished at a place of the table."""
    low = [min(point[axis] for point in piece["outline_mm"]) for axis in (0, 1)]
    return table.ask("layout move", piece=piece["key"], by=[along - low[0], across - low[1]])


def middle(remnant: Any) -> tuple[float, float]:
    """Of a remnant's four corners on the table."""
    along, across = zip(*remnant["rings"][0], strict=True)
    return sum(along) / 4, sum(across) / 4


def test_pieces_go_from_one_remnant_to_another(table: Table) -> None:
    desk = on_remnants(table)
    first, second = desk["layout"]["remnants"]
    assert [first["name"], second["name"]] == ["from the skirt", "end of roll"]
    assert min(y for _, y in first["rings"][0]) > max(y for _, y in second["rings"][0])
    assert desk["figures"]["remnants_text"].endswith(" of 2")
    piece = desk["pieces"][0]
    target = second if piece["on"] == first["name"] else first
    moved = moved_to(table, piece, *middle(target))
    now = next(each for each in moved["pieces"] if each["key"] == piece["key"])
    assert now["on"] == target["name"]
    numbered = {each["key"]: (each["on"], each["number"]) for each in desk["pieces"]}
    for each in moved["pieces"]:
        assert each is now or (each["on"], each["number"]) == numbered[each["key"]]
    there = [number for on, number in numbered.values() if on == target["name"]]
    assert now["number"] == max(there, default=0) + 1
    table.ask("layout pin", pieces=[piece["key"]], pinned=True)
    with pytest.raises(CannotBeDone, match="pinned"):
        table.ask("layout turn", piece=piece["key"])
    again = Desk(table.job, table.outputs, lambda _: None, Event())
    brought = again.answer("desk", {})["pieces"]
    assert [each["pinned"] for each in brought if each["key"] == piece["key"]] == [True]
    for _ in range(2):
        undone = again.answer("layout undo", {})
    assert {each["key"]: each["on"] for each in undone["pieces"]} == {
        each["key"]: each["on"] for each in desk["pieces"]
    }
    assert all(
        marker("judge", path).exit_code == 0 for path in table.stored.parent.glob("*layout.json")
    )


def test_the_rest_is_laid_around_a_piece_pinned_on_a_remnant(table: Table) -> None:
    """On the remnant that would not be needed: what is laid is a set of two layouts."""
    desk = on_remnants(table)
    piece = max(desk["pieces"], key=lambda each: each["number"])
    (other,) = (each for each in desk["layout"]["remnants"] if each["name"] != piece["on"])
    moved = moved_to(table, piece, *middle(other))
    table.ask("layout pin", pieces=[piece["key"]], pinned=True)
    after = table.laid(1.0)
    (held,) = [each for each in after["pieces"] if each["pinned"]]
    (there,) = [each for each in moved["pieces"] if each["key"] == piece["key"]]
    assert (held["on"], held["outline_mm"]) == (other["name"], there["outline_mm"])
    assert {each["on"] for each in after["pieces"]} == {piece["on"], other["name"]}
    assert len(after["pieces"]) == 7
    assert len(table.ask("kept")["layouts"]) == 2  # those of a set are one
    printed = table.ask("pages", paper="a4", on=held["on"])
    assert printed["pages"] > 0
    with pytest.raises(CannotBeDone, match="nothing lies on the sleeve"):
        table.ask("pages", paper="a4", on="the sleeve")
