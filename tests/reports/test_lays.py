"""Lays as a cutting room reads them; the plan is worked out by hand."""

from __future__ import annotations

import csv
from dataclasses import replace

import pytest

from marker.cloth.behaviour import Shrinkage
from marker.cloth.buying import cost_of
from marker.orders.order import CutOrder
from marker.reports import lays
from marker.reports.lays import (
    cost,
    count_tickets,
    ends_mm,
    garment_mm,
    height_mm,
    most_plies,
    plan_csv,
    shared_markers,
    splice_marks,
    tickets,
    to_buy_csv,
)
from marker.reports.order import to_buy_lines
from marker.reports.rolls import PlyRun, left_after, ply_runs, roll_lines
from marker.units import Show, System, show_lengths
from tests.reports.lay_plans import CLOTH, SPLICE, hand_made


def test_lays_of_the_same_garments_share_a_marker() -> None:
    found = [
        (each.letter, [lay.number for lay in each.lays]) for each in shared_markers(hand_made())
    ]
    assert found == [("A", [1, 2]), ("B", [3])]


def test_every_ply_has_its_roll_from_the_table_up() -> None:
    first, second, third = hand_made().lays
    assert ply_runs(hand_made(), first) == (
        PlyRun(1, 1, "red", ("roll 1",)),
        PlyRun(2, 2, "red", ("roll 1", "roll 2"), SPLICE),
        PlyRun(3, 3, "red", ("roll 2",)),
        PlyRun(4, 4, "blue", ("roll 4",)),
        PlyRun(5, 5, "blue", missing=True),
    )
    assert ply_runs(hand_made(), second) == (PlyRun(1, 1, "blue", ("roll 5",)),)
    assert ply_runs(hand_made(), third) == (PlyRun(1, 1, "red", ("roll 3",)),)


def test_without_rolls_the_colours_lie_one_on_another() -> None:
    plan = hand_made(replace(CLOTH, rolls={}))
    assert ply_runs(plan, plan.lays[0]) == (PlyRun(1, 3, "red"), PlyRun(4, 5, "blue"))


@pytest.mark.parametrize(("roll", "left"), [("roll 1", 10), ("roll 2", 60), ("roll 4", 80)])
def test_what_is_left_of_a_roll(roll: str, left: float) -> None:
    assert left_after(hand_made(), roll, 1) == left


def test_a_roll_of_which_hardly_anything_is_left_is_to_be_measured_first() -> None:
    """Roll 1 has 1150 mm, of which 10 are left; roll 2 has 1100, of which 60 are (by hand)."""
    first, second, *_ = (line for line in roll_lines(hand_made()) if " left" in line)
    assert first.endswith("10 mm left: measure this roll before you spread it")
    assert second.endswith("60 mm left")


def test_figures_of_a_lay() -> None:
    """5 plies of 720 mm at 10 EUR a metre, each 0.5 mm thick, of 2 garments (arithmetic)."""
    laid = hand_made().lays[0]
    assert (ends_mm(laid), height_mm(laid), garment_mm(laid), cost(laid)) == (20, 2.5, 360.0, 36.0)
    assert splice_marks(laid) == (SPLICE,)


@pytest.mark.parametrize(("reach", "most"), [(None, None), (2.5, None), (2.4, 4), (0.4, 0)])
def test_a_lay_higher_than_the_blade_reaches(reach: float | None, most: int | None) -> None:
    assert most_plies(hand_made().lays[0], reach) == most


def test_nothing_is_invented() -> None:
    plan = hand_made(replace(CLOTH, thickness_mm=None, price=None))
    laid = plan.lays[0]
    assert (height_mm(laid), cost(laid), most_plies(laid, 100.0)) == (None, None, None)


def test_cloth_that_is_washed_first_is_paid_for_unwashed() -> None:
    """950 mm of cloth that lost 5 % was bought as a metre."""
    assert cost_of(950.0, replace(CLOTH, shrinkage=Shrinkage(0.05, 0.0))) == 10.0


def test_a_ticket_for_each_garment_of_plies_that_are_alike() -> None:
    found = [
        (each.garment, each.size, str(each.run), each.run.colour, each.rolls)
        for each in tickets(hand_made(), hand_made().lays[0])
    ]
    assert found == [
        (1, "S", "1", "red", ("roll 1",)),
        (1, "S", "2", "red", ("roll 1",)),  # all before the splice
        (1, "S", "3", "red", ("roll 2",)),
        (1, "S", "4", "blue", ("roll 4",)),
        (2, "M", "1", "red", ("roll 1",)),
        (2, "M", "2", "red", ("roll 2",)),  # all after it
        (2, "M", "3", "red", ("roll 2",)),
        (2, "M", "4", "blue", ("roll 4",)),
    ]
    assert dict(tickets(hand_made(), hand_made().lays[0])[0].pieces) == {"band": 1, "cuff": 2}


def test_too_many_bundles_get_no_tickets(monkeypatch: pytest.MonkeyPatch) -> None:
    laid = hand_made().lays[0]
    assert count_tickets(hand_made(), laid) == 8
    monkeypatch.setattr(lays, "MOST_TICKETS", 7)
    assert tickets(hand_made(), laid) == ()


@pytest.mark.parametrize(
    ("system", "unit", "ply"), [(System.METRIC, "cm", "72.00"), (System.IMPERIAL, "in", "28.35")]
)
def test_the_plan_as_a_table(system: System, unit: str, ply: str) -> None:
    with show_lengths(Show(system)):
        rows = list(csv.DictReader(plan_csv([hand_made()]).splitlines()))
    first = rows[0]
    assert [row["lay"] for row in rows] == ["1", "2", "3"]
    assert [row["marker"] for row in rows] == ["A", "A", "B"]
    assert (first["size S"], first["plies red"], first["plies blue"]) == ("1", "3", "2")
    assert (first["plies"], first["garments"], first["cost"]) == ("5", "10", "36.00")
    assert first[f"ply with ends ({unit})"] == ply
    assert first[f"for rolls from ({unit})"] == {"cm": "30.00", "in": "11.81"}[unit]


def test_what_to_buy_of_each_colour() -> None:
    """Red 3 × 720 + 420 mm, blue 3 × 720 mm, in steps of 10 cm at 10 EUR a metre (arithmetic)."""
    plan = hand_made(replace(CLOTH, rolls={}))
    assert list(to_buy_lines(plan)) == [
        "buy 2.60 m (by the yard 2 7/8 yd) of jersey, red, 26.00 EUR",
        "buy 2.20 m (by the yard 2 3/8 yd) of jersey, blue, 22.00 EUR",
        "sold in steps of 10 cm (3 15/16 in), 48.00 EUR in all",
    ]
    red, blue = csv.DictReader(to_buy_csv([plan]).splitlines())
    assert (red["colour"], red["all plies (cm)"], red["to buy (cm)"]) == ("red", "258.00", "260.00")
    assert (blue["cloth"], blue["to buy (cm)"], blue["cost"]) == ("jersey", "220.00", "22.00")


def test_nothing_is_bought_of_a_colour_that_nothing_is_cut_from() -> None:
    plan = hand_made(replace(CLOTH, rolls={}))
    red = replace(plan.plan, order=CutOrder({"red": {"S": 1}, "green": {}}))
    assert [line for line in to_buy_lines(replace(plan, plan=red)) if "green" in line] == []
    assert "green" not in to_buy_csv([replace(plan, plan=red)])


def test_cloth_that_is_there_on_rolls_is_not_bought() -> None:
    assert (list(to_buy_lines(hand_made())), to_buy_csv([hand_made()])) == ([], "")


def test_no_name_is_a_formula_in_a_spreadsheet() -> None:
    """Every beginning that OWASP names, in front of a cloth's name."""
    for begins in ("=", "+", "-", "@", "\t", "＝"):
        plan = hand_made()
        named = replace(plan, cloth=replace(CLOTH, name=f"{begins}1+1"))
        (row, *_) = csv.DictReader(plan_csv([named]).splitlines())
        assert row["cloth"] == f"'{begins}1+1"
    assert next(csv.DictReader(plan_csv([hand_made()]).splitlines()))["cloth"] == "jersey"
