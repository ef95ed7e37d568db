"""Tables with a column a size, and texts said once where sizes agree."""

from __future__ import annotations

from marker.reports.by_size import PAGE, Measure, Said, by_size, size_table


def test_a_column_a_size_and_inches_below() -> None:
    measures = [
        Measure("a", "S", "side a", "10.0", "4"), Measure("b", "S", "side b", "7.0", "2 3/4"),
        Measure("a", "M", "side a", "11.0", "4 3/8"), Measure("b", "M", "side b", "8.0", "3 1/8"),
    ]  # fmt: skip
    assert list(size_table(measures, ["S", "M"])) == [
        "              S      M",
        "  side a   10.0   11.0",
        "              4  4 3/8",
        "  side b    7.0    8.0",
        "          2 3/4  3 1/8",
    ]


def test_one_size_has_both_units_in_one_line() -> None:
    measures = [Measure("a", "S", "side a", "10.0", "4"), Measure("b", "S", "b", "7.0")]
    assert list(size_table(measures, ["S"])) == ["  side a  10.0 (4)", "  b       7.0"]


def test_a_row_that_only_some_sizes_have_stays_with_its_thing() -> None:
    measures = [
        Measure("a", "S", "a", "1"), Measure("b", "S", "b", "2"),
        Measure("a", "M", "a", "1"), Measure("a", "M", "  too long by", "9"),
        Measure("b", "M", "b", "2"),
    ]  # fmt: skip
    assert list(size_table(measures, ["S", "M"])) == [
        "                 S  M",
        "  a              1  1",
        "    too long by     9",
        "  b              2  2",
    ]


def test_sizes_that_do_not_fit_a_page_go_to_a_table_of_their_own() -> None:
    sizes = [f"size {k}" for k in range(40)]
    lines = list(size_table([Measure("a", size, "a", size) for size in sizes], sizes))
    assert all(len(line) <= PAGE for line in lines)
    heads, cells = lines[::2], lines[1::2]
    assert len(heads) > 1
    for rows in (heads, [line.removeprefix("  a") for line in cells]):
        found = [word.strip() for line in rows for word in line.split("  ") if word.strip()]
        assert found == sizes


def test_nothing_measured_is_no_table() -> None:
    assert list(size_table([], ["S", "M"])) == []


def test_what_all_sizes_share_is_said_once() -> None:
    said = [
        Said(("x",), "S", ("x is 1", "remedy")), Said(("y",), "S", ("y",)),
        Said(("x",), "M", ("x is 2",)), Said(("y",), "M", ("y",)),
    ]  # fmt: skip
    assert list(by_size(said, ["S", "M"])) == ["  S  x is 1", "  remedy", "  M  x is 2", "  y"]
