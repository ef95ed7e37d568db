"""A job file changed on the page: comments stay, faults are refused, everything is undone."""

from __future__ import annotations

import shutil
import tomllib
from pathlib import Path
from typing import Any

import pytest

from marker.errors import CannotBeDone, FaultyInput, MarkerError
from marker.jobfile.reading import read_job
from marker.web import nudging
from marker.web.drawing_board import ACTS, DrawingBoard
from tests.cli.commands import TWO_PIECES, job_file

DRESS = Path(__file__).parents[2] / "pieces" / "choir-dress"


@pytest.fixture
def path(tmp_path: Path) -> Path:
    shutil.copytree(DRESS, tmp_path / "dress")
    return tmp_path / "dress" / "job.toml"


EDITS: list[tuple[str, dict[str, Any], str]] = [
    ("allowance", {"piece": "bodice front", "edge": "side", "length": "15 mm"}, "15 mm"),
    ("hem", {"piece": "bodice front", "edge": "waist", "hem": "turned once"}, "turned once"),
    ("edge", {"piece": "skirt front", "corners": [2, 3], "name": "upper side"}, "upper side"),
    ("notch", {"piece": "skirt back", "edge": "side", "at": "20 cm"}, "20 cm"),
    ("grain", {"piece": "skirt back", "degrees": 100}, "100"),
    ("seam", {"name": "odd", "sides": ["skirt front.side", "skirt back.side"]}, "odd"),
    ("cloth", {"cloth": "jersey", "key": "nap", "value": "either way"}, "either way"),
    ("cloth", {"cloth": "jersey", "key": "repeat.along", "value": "12 cm"}, "12 cm"),
    (
        "price",
        {"cloth": "jersey", "amount": "12,50", "per": "1 m", "currency": "EUR"},
        "12.5",
    ),
    ("order", {"size": "40", "count": 3}, "3"),
    (
        "remedy",
        {"edits": [{"place": ["piece", "skirt back", "fold_seam"], "value": "10 mm"}]},
        "fold_seam",
    ),
    (
        "flaw",
        {"cloth": "jersey", "name": "stain", "along": [100, 200], "across": [0, 50]},
        "stain",
    ),
    ("new-cloth", {"name": "lining", "width": "140 cm", "nap": "either way"}, "140 cm"),
    (
        "rectangle",
        {"name": "pocket", "cloth": "jersey", "cut": "2", "length": "20 cm", "width": "17 cm"},
        "pocket",
    ),
    (
        "follower",
        {
            "name": "front lining",
            "of": "skirt front",
            "cloth": "jersey",
            "as": "lining",
            "allowance": "1 cm",
        },
        "[[derived]]",
    ),
    (
        "pieces",
        {
            "tables": [
                {"name": "patch", "points": [["0 cm", "0 cm"], ["9 cm", "0 cm"], ["0 cm", "9 cm"]]}
            ]
        },
        "patch",
    ),
    ("piece", {"piece": "skirt front", "key": "cut", "value": "2"}, "cut = 2"),
    ("piece", {"piece": "belt", "key": "cloth", "value": "jersey"}, 'cloth = "jersey"'),
    (
        "change",
        {"piece": "skirt front", "line": ["side at 40 cm"], "way": "shorten", "by": "4 cm"},
        "shorten",
    ),
]


@pytest.mark.parametrize("count", ["2.5", "-1", "?", "1e3"])
def test_a_number_of_garments_is_whole_or_refused(count: str, path: Path) -> None:
    before = path.read_text(encoding="utf-8")
    with pytest.raises(CannotBeDone, match="whole number"):
        DrawingBoard(path).change("order", {"size": "38", "count": count})
    assert path.read_text(encoding="utf-8") == before


def test_the_last_garment_wanted_stays(path: Path) -> None:
    board = DrawingBoard(path)
    *others, last = tomllib.loads(board.text)["order"]
    for size in others:
        board.change("order", {"size": size, "count": ""})
    with pytest.raises(CannotBeDone, match="no garment is wanted"):
        board.change("order", {"size": last, "count": "0"})


@pytest.mark.parametrize(("what", "body", "written"), EDITS)
def test_a_change_is_written_and_undone(
    what: str, body: dict[str, Any], written: str, path: Path
) -> None:
    before = path.read_text(encoding="utf-8")
    board = DrawingBoard(path)
    board.change(what, body)
    after = path.read_text(encoding="utf-8")
    assert after.count(written) > before.count(written)
    assert [line for line in before.splitlines() if "#" in line] == [
        line for line in after.splitlines() if "#" in line
    ]
    read_job(path)
    board.change("undo", {})
    assert path.read_text(encoding="utf-8") == before
    board.change("redo", {})
    assert path.read_text(encoding="utf-8") == after


def test_an_opening_comes_with_its_band(path: Path) -> None:
    board = DrawingBoard(path)
    edges = ["bodice front.armhole", "bodice back.armhole reversed"]
    board.change("opening", {"name": "second", "edges": edges, "band": "12 mm", "ratio": 0.9})
    pattern = read_job(path).pattern
    assert pattern.openings[-1].name == "second"
    assert (pattern.strips[-1].name, pattern.strips[-1].finishes) == ("second binding", "second")


def test_the_edges_of_an_opening_follow_one_another_in_whatever_order_they_are_clicked(
    path: Path,
) -> None:
    board = DrawingBoard(path)
    edges = ["bodice back.armhole", "bodice front.armhole"]
    board.change("opening", {"name": "second", "edges": edges})
    made = read_job(path).pattern.openings[-1]
    assert sorted(ref.reversed for ref in made.edges) == [False, True]
    assert not [each for each in read_job(path).findings("38") if each.seam == "second"]


def test_an_opening_on_the_fold_names_its_centres_so_that_its_band_is_joined_behind(
    path: Path,
) -> None:
    board = DrawingBoard(path)
    edges = ["skirt back.waist", "skirt front.waist"]
    board.change("opening", {"name": "second", "edges": edges, "band": "12 mm", "ratio": 1.0})
    made = read_job(path).pattern.openings[-1]
    assert sorted(made.points) == ["centre back", "centre front"]


def test_what_is_taken_away_leaves_no_empty_table(path: Path) -> None:
    before = path.read_text(encoding="utf-8")
    board = DrawingBoard(path)
    board.change("cloth", {"cloth": "jersey", "key": "repeat.along", "value": "12 cm"})
    board.change("cloth", {"cloth": "jersey", "key": "repeat.along", "value": ""})
    box = {"name": "stain", "along": [100, 200], "across": [0, 50]}
    board.change("flaw", {"cloth": "jersey", **box})
    board.change("no-flaw", {"cloth": "jersey", "number": 0})
    after = path.read_text(encoding="utf-8")
    assert read_job(path).cloths[0].flaws == ()
    assert [line for line in after.splitlines() if line] == [
        line for line in before.splitlines() if line
    ]
    board.change("price", {"cloth": "jersey", "amount": "", "per": "", "currency": ""})
    assert read_job(path).cloths[0].price is None
    with pytest.raises(MarkerError, match="no amount of money"):
        board.change("price", {"cloth": "jersey", "amount": "dear", "per": "", "currency": ""})


def test_changes_are_listed_and_taken_away(path: Path) -> None:
    board = DrawingBoard(path)
    piece = {"piece": "skirt front", "line": ["side at 40 cm"]}
    board.change("change", {**piece, "way": "lengthen", "by": "4 cm", "hem": "turned once"})
    parts = {"by": ["yoke", "skirt"], "edge": "join", "allowance": "12 mm", "sewn": False}
    board.change("change", {**piece, "way": "split", **parts})
    assert board.changes() == [
        {"piece": "skirt front", "said": "4 cm longer, at side at 40 cm"},
        {"piece": "skirt front", "said": "split into yoke and skirt, at side at 40 cm"},
    ]
    names = [each.name for each in read_job(path).pattern.pieces]
    assert ("skirt front" in names, {"yoke", "skirt"} <= set(names)) == (False, True)
    fixed = board.fixed_corners(["yoke", "skirt back"])  # drawn anew in each size
    assert {name: each["have_numbers"] for name, each in fixed.items()} == {
        "yoke": False,
        "skirt back": True,
    }
    tried = board.tried("change", {**piece, "way": "keep", "by": "above"})
    assert "split" in tried.faults[0].problem  # shown, and not written
    board.change("no-change", {"number": 1})
    board.change("no-change", {"number": 0})
    assert "[[change]]" not in path.read_text(encoding="utf-8")
    with pytest.raises(MarkerError, match="no way called 'fly'"):
        board.change("change", {**piece, "way": "fly", "by": "1 cm"})


def test_a_repeat_keeps_what_else_is_said_of_it(path: Path) -> None:
    board = DrawingBoard(path)
    text = board.text.replace(
        'nap = "one way"',
        'nap = "one way"\nrepeat = { along = { every = "9 cm", begins = "4 cm" } }',
    )
    board.change("text", {"text": text})
    board.change("cloth", {"cloth": "jersey", "key": "repeat.along", "value": "12 cm"})
    bars = read_job(path).cloths[0].repeat.along
    assert bars is not None
    assert (bars.every_mm, bars.begins_mm) == (120.0, 40.0)


def test_a_file_that_is_no_toml_is_corrected_here(path: Path) -> None:
    sound = path.read_text(encoding="utf-8")
    path.write_text(sound + "[[", encoding="utf-8")
    board = DrawingBoard(path)
    assert board.text.endswith("[[")
    board.change("text", {"text": sound})
    assert path.read_text(encoding="utf-8") == sound


def test_a_change_that_leaves_a_fault_is_refused(path: Path) -> None:
    before = path.read_text(encoding="utf-8")
    board = DrawingBoard(path)
    for what, body in (
        ("allowance", {"piece": "bodice front", "edge": "side", "length": "wide"}),
        ("notch", {"piece": "skirt back", "edge": "side", "at": "9 m"}),
        ("fold", {"piece": "bodice front", "corners": [2, 3]}),
        ("cloth", {"cloth": "jersey", "key": "width", "value": ""}),
        ("text", {"text": "name = 3"}),
    ):
        with pytest.raises(FaultyInput):
            board.change(what, body)
        assert path.read_text(encoding="utf-8") == before
    assert not board.can_undo


def test_an_edge_that_is_the_fold_loses_its_name(tmp_path: Path) -> None:
    """An import names every edge, and the fold is no edge."""
    path = job_file(tmp_path, TWO_PIECES)
    board = DrawingBoard(path)
    for number, name in enumerate(("side", "top", "middle"), 1):
        board.change("edge", {"piece": "front", "corners": [number, number + 1], "name": name})
    board.change("allowance", {"piece": "front", "edge": "top", "length": "1 cm"})
    board.change("fold", {"piece": "front", "corners": [3, 4]})
    (front, _) = read_job(path).pattern.pieces
    assert (front.fold is None, sorted(front.edges)) == (False, ["side", "top"])
    with pytest.raises(FaultyInput, match="runs over the fold"):  # it has an allowance to sew
        board.change("fold", {"piece": "front", "corners": [2, 3]})


def test_an_edge_that_runs_on_into_the_fold_ends_where_the_fold_begins(tmp_path: Path) -> None:
    """An import takes a blunt corner for a curve, as at the point of a deep V neck."""
    path = job_file(tmp_path, TWO_PIECES)
    board = DrawingBoard(path)
    board.change("edge", {"piece": "front", "corners": [2, 4], "name": "edge 2"})
    board.change("fold", {"piece": "front", "corners": [4, 3]})  # in the order of the clicks
    (front, _) = tomllib.loads(board.text)["piece"]
    assert (front["fold"], front["edges"]) == ([3, 4], {"edge 2": [2, 3]})
    board.change("edge", {"piece": "front", "corners": [2, 3], "name": "neck"})
    (front, _) = tomllib.loads(board.text)["piece"]
    assert front["edges"] == {"neck": [2, 3]}


def test_changes_are_undone_after_the_program_has_ended(path: Path, tmp_path: Path) -> None:
    before = path.read_text(encoding="utf-8")
    board = DrawingBoard(path, tmp_path / "kept" / "changes.json")
    board.change("grain", {"piece": "skirt back", "degrees": 80})
    board.change("order", {"size": "40", "count": 3})
    after = path.read_text(encoding="utf-8")
    again = DrawingBoard(path, tmp_path / "kept" / "changes.json")
    again.change("undo", {})
    again.change("undo", {})
    assert path.read_text(encoding="utf-8") == before
    again.change("redo", {})
    again.change("redo", {})
    assert path.read_text(encoding="utf-8") == after
    path.write_text(after + "# mine\n", encoding="utf-8")
    assert not DrawingBoard(path, tmp_path / "kept" / "changes.json").can_undo


def test_a_file_that_was_changed_elsewhere_is_not_written_over(path: Path) -> None:
    board = DrawingBoard(path)
    path.write_text(path.read_text(encoding="utf-8") + "\n# mine\n", encoding="utf-8")
    with pytest.raises(FaultyInput, match="changed"):
        board.change("grain", {"piece": "skirt back", "degrees": 80})
    assert "# mine" in path.read_text(encoding="utf-8")


def test_presses_of_an_arrow_key_are_one_step(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(nudging, "MOMENT_SECONDS", 600.0)
    path = job_file(tmp_path, TWO_PIECES)
    board = DrawingBoard(path)

    def press(corner: int, up: float) -> str:
        body = {"piece": "front", "corner": corner, "by_mm": [0, up], "nudged": True}
        board.change("corner", body)
        return board.text

    texts = [board.text, *(press(2, 1) for _ in range(3))]
    assert len(set(texts)) == 4
    third = press(3, -1)  # another corner
    board.change("undo", {})
    assert board.text == texts[3]
    board.change("undo", {})
    assert board.text == texts[0]
    assert not board.can_undo
    for text in (texts[3], third):
        board.change("redo", {})
        assert board.text == text
    monkeypatch.setattr(nudging, "MOMENT_SECONDS", 0.0)
    press(2, 1)
    press(2, 1)  # after a while
    board.change("undo", {})
    board.change("undo", {})
    assert board.text == third


def test_there_is_nothing_to_undo_at_first(path: Path) -> None:
    board = DrawingBoard(path)
    for what in ("undo", "redo", "fly"):
        with pytest.raises(MarkerError):
            board.change(what, {})


def test_every_change_is_tested() -> None:
    assert {what for what, _, _ in EDITS} | {
        "corner",
        "drop",
        "no-seam",
        "no-opening",
        "no-cloth",
        "opening",
        "fold",
        "text",
        "no-flaw",
        "no-change",
        "undo",
        "redo",
    } == set(ACTS)
