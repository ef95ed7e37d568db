"""Changes of pieces that cannot be made: each fault with its place and its remedy."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.jobfile.dress import DRESS, change, split
from tests.jobfile.writer import faults
from tests.jobfile.writer import place as fault_place

# what is wrong: text after the dress, place, words of the problem, words of the remedy
FAULTY: dict[str, tuple[str, str, str, str]] = {
    "no piece": (change("lengthen = 9", piece="frnt"), "piece", "'frnt'", "'front'"),
    "a piece that was split": (
        split("front") + change("lengthen = 9"), "piece", "is split above", "'skirt front'"
    ),
    "nothing said": (change(), "", "nothing says what is done", "exactly one of lengthen"),
    "two things said": (
        change("lengthen = 9", "shorten = 8"), "", "lengthen and shorten say", "exactly one"
    ),
    "no such edge": (change("lengthen = 9", at='["sid at 9 mm"]'), "line", "'sid'", "'side'"),
    "no place": (change("lengthen = 9", at='["side"]'), "line", "names no place", "Write"),
    "beyond the edge": (
        change("lengthen = 9", at='["side at 800 mm"]'), "line", "not on a stitching line", "Name"
    ),
    "a line that misses": (
        change('keep = "below"', at='["hem at start"]'), "line", "the line misses", "Move it"
    ),
    "one point twice": (
        change('keep = "below"', at='["side at end", "armhole at start"]'), "line", "one point",
        "lie apart",
    ),
    "more than there is": (change("shorten = 690"), "line", "too little", "Move the line"),
    "through a mark": (
        change('keep = "left"', at='["hem at 100 mm"]'), "line",
        "cuts through the placement pocket", "Move the line",
    ),
    "longer through a mark": (
        change("widen = 5", at='["hem at 100 mm"]'), "line", "cuts through the placement", "Move"
    ),
    "left of a line across": (
        change('keep = "left"', at='["side at 0 mm", "hem at start"]'), "line", "left this line",
        "above or below",
    ),
    "a name that is taken": (
        change('split = ["back", "skirt"]'), "split", "two pieces called 'back'", "of its own"
    ),
    "a name of a strip": (
        change('split = ["neck binding", "skirt"]'), "split", "'neck binding'", "of its own"
    ),
    "an edge's name that is taken": (
        change('keep = "above"', 'edge = "neck"'), "line", "an edge 'neck' already", "`edge`"
    ),
    "an allowance where nothing is cut": (
        change("lengthen = 9", "allowance = 9"), "allowance", "nothing is cut", "Leave it out"
    ),
    "sewn where nothing is split": (
        change('keep = "above"', "sewn = false"), "sewn", "nothing is cut", "Leave it out"
    ),
    "a hem beside an allowance": (
        change('keep = "above"', "allowance = 9", 'hem = "rolled"'), "allowance", "hemmed", "depth"
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", FAULTY)
def test_each_fault_has_its_line_and_a_remedy(tmp_path: Path, name: str) -> None:
    text, key, problem, remedy = FAULTY[name]
    fault = faults(tmp_path, DRESS + text)[0]
    number = text.count("[[change]]")
    wanted = f"change {number}" + (f", {key}" if key else "")
    assert fault_place(fault).startswith(f"{tmp_path / 'job.toml'}: {wanted}")
    assert fault.line > DRESS.count("\n")
    assert problem in fault.problem
    assert remedy in fault.remedy


def test_a_line_that_misses_in_some_sizes_names_them(tmp_path: Path) -> None:
    """The hem is 270, 280 and 290 mm long."""
    found = faults(tmp_path, DRESS + change("widen = 5", at='["hem at 285 mm"]'))
    assert [fault.place.rpartition("size ")[2] for fault in found] == ["36", "38"]


def test_what_is_cut_away_is_told_where_it_is_named(tmp_path: Path) -> None:
    """A skirt of the front alone: shoulder, neck and armhole are named above, and gone."""
    found = faults(tmp_path, DRESS + change('keep = "below"'))
    places = [fault_place(fault).partition("job.toml: ")[2] for fault in found]
    assert places[:2] == ["seam 2 (shoulder), sides[1].edges[1]", "opening 1 (neckline), edges[1]"]
    assert all("change 1 cuts" in fault.problem for fault in found)
