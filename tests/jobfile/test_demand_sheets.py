"""An order as a spreadsheet: what is accepted, where each fault stands, what is too much."""

from __future__ import annotations

import time
from collections.abc import Callable
from datetime import date
from pathlib import Path

import pytest
from openpyxl import Workbook

from marker.errors import FaultyInput
from marker.jobfile.demand_table import DemandFile, read_demand_table
from tests.jobfile.sheets import Rows, cell, open_document, patched, workbook

ROWS: list[list[object]] = [["colour", "S", 36], ["red", 3, 4.0], ["blue", None, "5"]]
WANTED = {"red": {"S": 3, "36": 4}, "blue": {"S": 0, "36": 5}}
SHEET_1 = "xl/worksheets/sheet1.xml"
WRITERS: dict[str, Callable[[Rows], bytes]] = {".xlsx": workbook, ".ods": open_document}


def read(folder: Path, suffix: str, content: bytes, sheet: str | None = None) -> object:
    path = folder / f"order{suffix}"
    path.write_bytes(content)
    return read_demand_table(DemandFile(path, sheet))


def faults(folder: Path, suffix: str, content: bytes, sheet: str | None = None) -> list[str]:
    with pytest.raises(FaultyInput) as caught:
        read(folder, suffix, content, sheet)
    assert all(fault.remedy for fault in caught.value.faults)
    return [str(each).removeprefix(str(folder / "order")) for each in caught.value.faults]


@pytest.mark.parametrize("suffix", WRITERS)
def test_the_only_sheet_that_is_filled_in(suffix: str, tmp_path: Path) -> None:
    content = WRITERS[suffix]({"Empty": [], "March": ROWS, "Blank": [[None, " "]]})
    assert read(tmp_path, suffix, content) == WANTED
    assert read(tmp_path, ".csv", content) == WANTED  # it is what it holds, whatever its name


@pytest.mark.parametrize("suffix", WRITERS)
def test_a_sheet_by_its_name(suffix: str, tmp_path: Path) -> None:
    content = WRITERS[suffix]({"March": ROWS, "April": [["size", "count"], ["S", 7]]})
    assert read(tmp_path, suffix, content, "April") == {"": {"S": 7}}
    (told,) = faults(tmp_path, suffix, content)
    assert "2 sheets have contents: 'March', 'April'" in told
    assert f"'order{suffix}#March'" in told
    assert "Did you mean 'April'" in faults(tmp_path, suffix, content, "Apri")[0]


def test_hidden_sheets_are_passed_over(tmp_path: Path) -> None:
    def hide(book: Workbook) -> None:
        book["Lists"].sheet_state = "hidden"

    assert read(tmp_path, ".xlsx", workbook({"March": ROWS, "Lists": ROWS}, hide)) == WANTED


def _hidden_rows(book: Workbook) -> None:
    for row in (3, 4, 9):  # nothing stands in the last one
        book["March"].row_dimensions[row].hidden = True


def _hidden_columns(book: Workbook) -> None:
    for column in ("C", "H"):
        book["March"].column_dimensions[column].hidden = True


LONG: list[list[object]] = [*ROWS, ["green", 1, 2]]
SEEN: list[list[object]] = [["colour", "S"], ["red", 3]]
FOLDED = '<table:table-row-group table:display="false">{}</table:table-row-group>'


def _unseen(rows: str = "", columns: str = "") -> bytes:
    """An .ods of a row and two columns that are seen, and what is said of others."""
    told = patched(open_document({"March": SEEN}), "content.xml", b"</table:table>", rows.encode())
    return patched(told, "content.xml", b'"March">', f'"March">{columns}'.encode())


@pytest.mark.parametrize(
    ("suffix", "content", "where", "what"),
    [
        (".xlsx", workbook({"March": LONG}, _hidden_rows), "A3", "rows 3 to 4 are hidden"),
        (".xlsx", workbook({"March": LONG}, _hidden_columns), "C1", "column C is hidden"),
        (".ods", "row", "A3", "row 3 is hidden"),
        (".ods", "filter", "A3", "row 3 is hidden"),
        (".ods", "group", "A3", "row 3 is hidden"),
        (".ods", "column", "B1", "column B is hidden"),
    ],
)
def test_what_nobody_sees_is_refused(
    suffix: str, content: bytes | str, where: str, what: str, tmp_path: Path
) -> None:
    row = f"<table:table-row {{}}>{cell('blue')}{cell(4)}</table:table-row>"
    if isinstance(content, str):
        more = {
            "row": row.format('table:visibility="collapse"'),
            "filter": row.format('table:visibility="filter"'),
            "group": FOLDED.format(row.format("")),
        }
        columns = '<table:table-column/><table:table-column table:visibility="collapse"/>'
        told = more.get(content, "") + "</table:table>"
        content = _unseen(told, columns if content == "column" else "")
    (told,) = faults(tmp_path, suffix, content)
    assert f"cell {where}" in told
    assert what in told
    assert "or else delete" in told


def _with(value: object) -> bytes:
    return workbook({"March": [["colour", "S", "M"], ["red", value, 4]]})


def _merged(span: str) -> Callable[[Workbook], None]:
    return lambda book: book["March"].merge_cells(span)


def _open(value: str) -> bytes:
    return open_document({"March": [["colour", "S", "M"], ["red", value, 4]]})


@pytest.mark.parametrize(
    ("suffix", "content", "where", "what"),
    [
        (".xlsx", _with(3.5), "B2 (S)", "'3.5' is no number"),
        (".xlsx", _with(-3), "B2 (S)", "'-3' is no number"),
        (".xlsx", _with("three"), "B2 (S)", "'three' is no number"),
        (".xlsx", _with(True), "B2 (S)", "'True' is no number"),
        (".xlsx", _with(date(2026, 3, 1)), "B2", "a date or a time stands here (2026-03-01"),
        (".xlsx", _with("=1+2"), "B2", "its formula has not been worked out"),
        (".xlsx", _with("#REF!"), "B2", "its formula gives '#REF!'"),
        (".xlsx", workbook({"March": ROWS}, _merged("B1:C1")), "B1", "cells B1:C1 are merged"),
        (".xlsx", workbook({"March": [*ROWS, ["red", 1]]}), "A4 (red)", "'red' is there twice"),
        (".xlsx", workbook({"March": [["", "S", "Sum"], ["red", 1, 2]]}), "C2 (total)", "makes 1"),
        (".ods", _open(cell(3.5)), "B2 (S)", "'3.5' is no number"),
        (".ods", _open('<table:table-cell office:value-type="date" office:date-value="2026-03-01">'
                       "</table:table-cell>"), "B2", "a date or a time stands here"),
        (".ods", _open('<table:table-cell table:formula="of:=1+2"/>'), "B2", "not been worked out"),
        (".ods", _open(cell("#REF!", 'table:formula="of:=#REF!" calcext:value-type="error"')),
         "B2", "its formula gives '#REF!'"),
        (".ods", _open(cell(3, 'table:number-columns-spanned="2"')), "B2", "B2:C2 are merged"),
    ],
)  # fmt: skip
def test_each_fault_has_its_cell_and_remedy(
    suffix: str, content: bytes, where: str, what: str, tmp_path: Path
) -> None:
    told = faults(tmp_path, suffix, content)
    place = f"{suffix}: sheet 'March', cell {where}: "
    assert any(each.startswith(place) and what in each for each in told), told


def test_a_heading_of_two_lines_is_one_name(tmp_path: Path) -> None:
    content = workbook({"March": [["", "S\nlong"], ["night\nblue", 3]]})
    assert read(tmp_path, ".xlsx", content) == {"night blue": {"S long": 3}}


def test_notes_in_a_cell_are_no_text_of_it(tmp_path: Path) -> None:
    note = "<office:annotation><text:p>ask again</text:p></office:annotation><text:p>7</text:p>"
    noted = f'<table:table-cell office:value-type="string">{note}</table:table-cell>'
    assert read(tmp_path, ".ods", _open(noted)) == {"red": {"S": 7, "M": 4}}


ENTITY = '<!DOCTYPE x [<!ENTITY a "b">]>'
REPEATED = 'table:number-columns-repeated="999999999"'
PLAIN = workbook({"March": ROWS})


@pytest.mark.parametrize(
    ("suffix", "content", "what"),
    [
        (".xlsx", patched(PLAIN, SHEET_1, b"<sheetData>", b"<sheetData>" + b" " * 10_000_000),
         "it unpacks to 10.0 MB"),
        (".xlsx", workbook({"March": ROWS}, lambda book: book["March"].cell(9, 5000, "x")),
         "has something in GJH9"),
        (".xlsx", patched(PLAIN, SHEET_1, b"<worksheet", ENTITY.encode() + b"<worksheet"),
         "declares entities"),
        (".ods", open_document({"March": ROWS}, ENTITY), "declares entities"),
        (".ods", _open(cell(3, REPEATED)), "has something in ALM2"),
        (".ods", _open(f'<table:table-cell table:formula="of:=1" {REPEATED}/>'), "ALM2"),
        (".ods", open_document({"March": [[cell(1, 'table:number-columns-repeated="900"')]] * 60}),
         "more than 50000 cells"),
        (".ods", open_document({"March": []}), "no cell is filled in"),
        (".xlsx", b"PK\3\4rest", "damaged"),
        (".xlsx", b"colour,S\nred,3\n", "can't be read"),
        (".csv", patched(open_document({"March": ROWS}), "mimetype", b"spreadsheet", b"text"),
         "this kind of spreadsheet can't be read"),
        (".xls", b"\xd0\xcf\x11\xe0rest", "can't be read"),
    ],
)  # fmt: skip
def test_what_is_too_much_or_no_spreadsheet(
    suffix: str, content: bytes, what: str, tmp_path: Path
) -> None:
    started = time.thread_time()
    assert what in faults(tmp_path, suffix, content)[0]
    assert time.thread_time() - started < 60


def test_its_own_word_for_its_size_is_not_believed(tmp_path: Path) -> None:
    content = patched(PLAIN, SHEET_1, b'ref="A1:C3"', b'ref="A1:XFD1048576"')
    assert read(tmp_path, ".xlsx", content) == WANTED
