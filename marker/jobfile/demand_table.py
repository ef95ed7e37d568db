"""An order in a file: size columns and colour rows, or sizes and counts in two columns.

It is a sheet of a spreadsheet, or comma-separated values (RFC 4180). There 'sep=;' in the first row
says what separates the columns, as spreadsheets write it. Else the first row decides: a tab if it
holds one, else a semicolon, else a comma.
"""

from __future__ import annotations

import codecs
import csv
import re
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import partial
from io import StringIO
from pathlib import Path
from typing import NamedTuple

from marker.errors import Fault
from marker.files.faults import FaultList, Unusable
from marker.files.reading import is_file, read_bytes
from marker.files.sheet import cell_name, one_line
from marker.files.spreadsheets import is_spreadsheet, read_sheet
from marker.job import Job
from marker.jobfile.demand import LONGEST_NAME, Count, Demand, Written, no_name, number_of
from marker.words import lettered, spelled_as

_TEXTS = {".csv", ".tsv", ".txt"}
_SHEETS = {".xlsx", ".xlsm", ".xls", ".ods", ".numbers"}
_OF_A_SHEET = re.compile(
    rf"(.+?(?:{'|'.join(map(re.escape, sorted(_TEXTS | _SHEETS)))}))#(.*)",
    re.IGNORECASE | re.DOTALL,
)
_SEPARATED_BY = re.compile(r'"?sep=([^"\w])"?', re.IGNORECASE)
_AS_CSV = "Save the sheet as CSV (UTF-8), and give that file"
_TOTALS = {"total", "totals", "subtotal", "grand total", "sum", "sums"}

_CORNERS = ["size", "sizes", "colour", "colours"]
_PLACES = {
    "size": "Write a size above every column, in the first row",
    "colour": "Write a colour at the start of every row",
}


class _Row(NamedTuple):
    """One row that is not blank. line : of the file, from 1."""

    line: int
    cells: list[str]


Where = Callable[..., Fault]
"""Line, column, name, problem and remedy -> the fault at a cell."""


@dataclass(frozen=True)
class DemandFile:
    """An order's file as it is named. sheet : of a spreadsheet; None for the only one filled in."""

    path: Path
    sheet: str | None = None

    @classmethod
    def named(cls, text: str) -> DemandFile | None:
        """'order.csv', 'order.xlsx' or 'order.xlsx#March'; None where it is an order itself."""
        of_a_sheet = _OF_A_SHEET.fullmatch(text)
        file, sheet = (text, None) if of_a_sheet is None else of_a_sheet.groups()
        path = Path(file)
        known = path.suffix.lower() in _TEXTS | _SHEETS
        return cls(path, sheet) if known and ("=" not in file or is_file(path)) else None


def read_demand_table(file: DemandFile, job: Job | None = None) -> Demand:
    """The garments wanted. job : see `Written.demand`.

    Raises FaultyInput with every fault, each with its line and column, or its cell.
    """
    path, faults = file.path, FaultList(file.path)
    rows: list[_Row] = []
    at = partial(_at_column, path)
    with faults.gathering(""):
        content = read_bytes(path)
        if path.suffix.lower() in _SHEETS or is_spreadsheet(content):
            sheet = read_sheet(content, path.name, file.sheet)
            rows = [_Row(number, cells) for number, cells in sheet.rows()]
            at = partial(_at_cell, path, sheet.name)
            faults.found += [at(r, c - 1, "", said, remedy) for r, c, said, remedy in sheet.faults]
        elif file.sheet is not None:
            raise Unusable("a text has no sheets", f"Leave out '#{file.sheet[:LONGEST_NAME]}'")
        else:
            rows = _rows(content)
    faults.raise_any()
    sizes = () if job is None else job.sizes
    written = _written(path, _without_notes(rows, sizes), sizes, at)
    demand, found = written.demand(job)
    faults.found += found
    faults.raise_any()
    return demand


def _at_column(path: Path, line: int, column: int, name: str, problem: str, remedy: str) -> Fault:
    """A fault in a line of text; columns count from 0. name : of the size or colour there."""
    key = f"column {lettered(column + 1)}{_of(name)}"
    return Fault(f"{path}:{line}: {key}", problem, remedy, str(path), line)


def _at_cell(
    path: Path, sheet: str, line: int, column: int, name: str, problem: str, remedy: str
) -> Fault:
    """The same in a sheet."""
    key = f"sheet '{sheet}', cell {cell_name(line, column + 1)}{_of(name)}"
    return Fault(f"{path}: {key}", problem, remedy, str(path), line)


def _of(name: str) -> str:
    return f" ({name[:LONGEST_NAME]})" if name else ""


def _rows(content: bytes) -> list[_Row]:
    """The rows of a text that are not blank; raises Unusable where it is no such text."""
    text = _decoded(content)
    first = next((line for line in text.splitlines() if line.strip()), "")
    if "\0" in first:  # UTF-16 without its mark
        raise Unusable("this is not UTF-8 text", _AS_CSV, 1)
    said = _SEPARATED_BY.fullmatch(first.strip(" "))
    between = _separator(first) if said is None else said[1]
    rows = []
    reader = csv.reader(StringIO(text, newline=""), delimiter=between, strict=True)
    try:
        for cells in reader:
            stripped = [one_line(cell) for cell in cells]
            if any(stripped):
                rows.append(_Row(reader.line_num, stripped))
    except csv.Error as error:
        problem = f"this is not comma-separated text ({error})"
        raise Unusable(problem, "Close every quotation mark", reader.line_num) from error
    rows = rows if said is None else rows[1:]
    if not rows:
        raise Unusable("the file is empty", "Write sizes in the first row, and a row for a colour")
    return rows


def _separator(line: str) -> str:
    """What separates the columns, by a line without what stands in quotation marks."""
    bare = re.sub(r'"[^"]*"', "", line)
    return next((each for each in "\t;" if each in bare), ",")


def _decoded(content: bytes) -> str:
    """UTF-8, with or without its mark, or UTF-16 with one; raises Unusable for all else."""
    marked = content.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE))
    try:
        return content.decode("utf-16" if marked else "utf-8-sig")
    except UnicodeDecodeError as error:
        before = content[: error.start].splitlines() or [b""]
        line = content.count(b"\n", 0, error.start) + 1
        begun = before[-1].decode("utf-8", "replace") if not marked else ""
        column = lettered(begun.count(_separator(begun)) + 1)
        raise Unusable(f"column {column} is not UTF-8 text", _AS_CSV, line) from error


def _without_notes(rows: list[_Row], sizes: Sequence[str]) -> list[_Row]:
    """Without titles above a table and notes below it: rows whose first cell alone is filled in.
    They order nothing."""
    if max(len(_trimmed(row.cells)) for row in rows) < 2:
        return rows
    return [row for row in rows if row.cells[0] in sizes or any(row.cells[1:]) or not row.cells[0]]


def _written(path: Path, rows: Sequence[_Row], sizes: Sequence[str], at: Where) -> Written:
    """What the rows say. sizes : those of the job, none where it is not known."""
    written = Written(lambda problem, remedy: Fault(str(path), problem, remedy, str(path)))
    faulty = _no_table(rows, sizes)
    if faulty is not None:
        column, problem, remedy = faulty
        written.faults.append(at(rows[0].line, column, "", problem, remedy))
    elif _is_list(rows, sizes):
        _add_list(written, rows, at)
    else:
        _add_table(written, rows, at, sizes)
    return written


def _no_table(rows: Sequence[_Row], sizes: Sequence[str]) -> tuple[int, str, str] | None:
    """Column, problem and remedy where nobody can tell which columns are meant."""
    head, cells = rows[0].cells, [_trimmed(row.cells) for row in rows]
    width = max(map(len, cells))
    if width == 1:
        remedy = "Give a column for colours, and one for each size"
        return 0, "there is one column only", f"{remedy}; in a text commas or tabs part them"
    if len(cells[0]) == 1:
        said = f"'{head[0][:LONGEST_NAME]}' stands alone in the first row"
        return 0, said, "Begin with the row of sizes, and delete what is above it"
    second = [row[1] for row in cells[1:] if len(row) > 1]
    if not any(row[0] for row in cells) and head[1] not in sizes and any(map(_is_word, second)):
        return 0, "nothing stands in the first column", "Delete it, so that the colours come first"
    one_row = len(rows) == width == 2 and not sizes and all(each.isdigit() for each in cells[1])
    if one_row and all(map(_is_word, head)) and spelled_as(head[0], _CORNERS) is None:
        said = f"'{head[0][:LONGEST_NAME]}' may be a size, or head a column"
        return 0, said, "Head two columns 'size,count', or write a colour before each row"
    return None


def _is_list(rows: Sequence[_Row], sizes: Sequence[str]) -> bool:
    """Whether two columns are sizes and counts, not colours and one size."""
    if max(len(_trimmed(row.cells)) for row in rows) != 2 or len(rows[0].cells) < 2:
        return False
    first, second = rows[0].cells[:2]
    if len(rows) == 2 and _is_size(first, sizes) and _is_size(second, sizes):
        return False  # two sizes above their counts, or each before its count: nobody can tell
    if first in sizes:
        return True
    return bool(first) and second not in sizes and spelled_as(first, _CORNERS[2:]) is None


def _is_size(name: str, sizes: Sequence[str]) -> bool:
    """Whether a heading is a size. sizes : those of the job; where it is not known, figures are."""
    return name in sizes if sizes else name.isdigit()


def _is_word(cell: str) -> bool:
    """Whether something without any figure stands there."""
    return bool(cell) and not any(each.isdigit() for each in cell)


def _trimmed(cells: list[str]) -> list[str]:
    """Without the empty cells at the end."""
    return cells[: max((k + 1 for k, cell in enumerate(cells) if cell), default=0)]


def _add_list(written: Written, rows: Sequence[_Row], at: Where) -> None:
    """Sizes and counts; a first row whose second cell has no figure is a heading."""
    every = rows[1 if _is_word(rows[0].cells[1]) else 0 :]
    totals = [row for row in every if _is_total(row.cells[0])]
    counted = [row for row in every if row not in totals]
    for row in totals:
        written.faults += _wrong_total(row, 1, [_at(each, 1) for each in counted], at)
    for line, cells in counted:
        size, number = [*cells, "", ""][:2]
        if _named(written, size, "size", partial(at, line, 0, size)):
            blame = partial(at, line, 1, size)
            if size in written.sizes:
                written.faults.append(blame(f"size '{size}' is there twice", "Give each size once"))
            written.sizes.setdefault(size, blame)
            written.counts.append(Count("", size, number or "0", blame))
    written.colours[""] = written.blame


def _add_table(written: Written, rows: Sequence[_Row], at: Where, known: Sequence[str]) -> None:
    """Sizes in the first row, colours in the first column."""
    head, *others = rows
    if all(_is_size(each, known) for each in _trimmed(head.cells)):
        corner = head.cells[0]
        said = f"size '{corner}' stands where the colours are headed"
        remedy = f"Begin with a column of colours: 'colour,{corner},...'"
        if len(head.cells) == 2:
            remedy += ". Or head two columns 'size,count'"
        written.faults.append(at(head.line, 0, corner, said, remedy))
        return
    used = max(len(_trimmed(row.cells)) for row in rows)
    columns = list(_columns(written, [*head.cells, *[""] * used][:used], rows, at, known))
    totals = [row for row in others if _is_total(row.cells[0])]
    others = [row for row in others if row not in totals]
    written.faults += _wrong_totals(head, others, totals, [column for column, _ in columns], at)
    for line, cells in others:
        colour, blame = cells[0], partial(at, line, 0, cells[0])
        if len(others) > 1 and not _named(written, colour, "colour", blame):
            continue
        if colour in written.colours:
            written.faults.append(blame(f"'{colour}' is there twice", "Give each colour once"))
        written.colours.setdefault(colour, blame)
        for column, size in columns:
            where = partial(at, line, column, size)
            text = _at(_Row(line, cells), column)
            written.counts.append(Count(colour, size, text or "0", where))


def _wrong_totals(
    head: _Row, rows: Sequence[_Row], totals: Sequence[_Row], columns: Sequence[int], at: Where
) -> Iterator[Fault]:
    """Totals, of colours or of sizes, that are not the sum of what is counted."""
    sums = [column for column, name in enumerate(head.cells) if column and _is_total(name)]
    for row in rows:
        for column in sums:
            yield from _wrong_total(row, column, [_at(row, each) for each in columns], at)
    for row in totals:
        for column in columns:
            yield from _wrong_total(row, column, [_at(each, column) for each in rows], at)
        for column in sums:
            every = [_at(each, size) for each in rows for size in columns]
            yield from _wrong_total(row, column, every, at)


def _wrong_total(row: _Row, column: int, parts: Sequence[str], at: Where) -> Iterator[Fault]:
    """A fault where a total disagrees; none where it is blank, or a part is no number."""
    counts = [number_of(text or "0") for text in parts]
    said = _at(row, column)
    total = sum(each or 0 for each in counts)
    if said and None not in counts and number_of(said) != total:
        problem = f"the total says {said[:LONGEST_NAME]}, and what is counted makes {total}"
        yield at(row.line, column, "total", problem, "Correct the counts or the total")


def _is_total(name: str) -> bool:
    return name.casefold() in _TOTALS


def _at(row: _Row, column: int) -> str:
    return row.cells[column] if column < len(row.cells) else ""


def _columns(
    written: Written, head: Sequence[str], rows: Sequence[_Row], at: Where, known: Sequence[str]
) -> Iterator[tuple[int, str]]:
    """Number and size of each column that has one; blank columns and totals have none."""
    for column, size in list(enumerate(head))[1:]:
        if _is_total(size) or not any(_at(row, column) for row in rows):
            continue
        line = next(
            (row.line for row in rows[1:] if any(row.cells[column : column + 1])), rows[0].line
        )
        blame = partial(at, rows[0].line if size else line, column, size)
        if size in known or _named(written, size, "size", blame):
            if size in written.sizes:
                written.faults.append(blame(f"size '{size}' is there twice", "Give each size once"))
            written.sizes.setdefault(size, blame)
            yield column, size


def _named(written: Written, name: str, what: str, blame: Callable[[str, str], Fault]) -> bool:
    """Whether a cell names a size or a colour; notes why not."""
    if name.casefold() in _TOTALS:
        written.faults.append(blame(f"'{name}' is no {what}", "Leave totals out"))
        return False
    if no_name(name):
        said = f"'{name[:LONGEST_NAME]}' can't be a {what}" if name else f"no {what} is named"
        remedy = f"{_PLACES[what]}. Split cells that are merged, and write counts without commas"
        written.faults.append(blame(said, remedy))
        return False
    return True
