"""Spreadsheets, Office Open XML (.xlsx) and OpenDocument (.ods): one sheet, as texts in its cells.

Values are read, not formulas. Nothing is unpacked before its size is known, and no XML that
declares entities goes any further.
"""

from __future__ import annotations

import re
import struct
import warnings
import zipfile
import zlib
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from datetime import date, time, timedelta
from io import BytesIO
from typing import Any, NamedTuple
from xml.etree.ElementTree import ParseError

from marker.files.budget import MEGABYTE, Budget, Most
from marker.files.faults import BROKEN, Unusable, nearest
from marker.files.sheet import SAVE_AGAIN, NoXml, Sheet, cell_name, figures, walk

MOST_SECONDS = 3.0
"""Of processor time for one spreadsheet."""

_ZIP, _OLE = b"PK\3\4", b"\xd0\xcf\x11\xe0"
_OPEN_DOCUMENT = b"application/vnd.oasis.opendocument.spreadsheet"
_STRICT, _HEAD_BYTES = b"http://purl.oclc.org/ooxml/", 1000
_DAMAGED = (
    zipfile.BadZipFile, zlib.error, struct.error, OSError, EOFError, RuntimeError, ParseError,
    *BROKEN,
)  # fmt: skip
"""What zipfile and openpyxl raise at files that are not what they should be."""


def is_spreadsheet(content: bytes) -> bool:
    """Whether a file is a spreadsheet by its first bytes."""
    return content.startswith((_ZIP, _OLE))


def read_sheet(content: bytes, file: str, name: str | None) -> Sheet:
    """The sheet of that name, or else the only one that a person sees anything in.

    file : what the file is called, for messages.

    Raises Unusable where there is none, or more than one.
    """
    unknown = "this kind of spreadsheet can't be read, or a password is set"
    if not content.startswith(_ZIP):
        raise Unusable(unknown, SAVE_AGAIN)
    budget = Budget(MOST_SECONDS, "order", Most.SPREADSHEET_BYTES.remedy)
    parts = _unpacked(content)
    if parts.get("mimetype", b"").startswith(_OPEN_DOCUMENT):
        sheets = _open_document_sheets(parts.get("content.xml", b""), budget)
    elif "[Content_Types].xml" not in parts:
        raise Unusable(unknown, SAVE_AGAIN)
    else:
        sheets = list(_office_sheets(content, parts, budget))
    return _chosen(sheets, file, name)


def _unpacked(content: bytes) -> dict[str, bytes]:
    """Every file of the archive, by its name."""
    with _told(), zipfile.ZipFile(BytesIO(content)) as archive:
        largest = Most.SPREADSHEET_BYTES
        unpacked = sum(each.file_size for each in archive.infolist())
        if unpacked > largest.most:
            said = f"it unpacks to {unpacked / MEGABYTE:.1f} MB"
            limit = f"more than the limit of {largest.most / MEGABYTE:.0f} MB"
            raise Unusable(f"{said}, {limit}", largest.remedy)
        return {each.filename: archive.read(each) for each in archive.infolist()}


@contextmanager
def _told() -> Iterator[None]:
    """What a library raises at a damaged file, in our words."""
    try:
        yield
    except _DAMAGED as error:
        raise NoXml from error


def _chosen(sheets: Sequence[Sheet], file: str, name: str | None) -> Sheet:
    names = [each.name for each in sheets]
    if name is not None and name not in names:
        raise Unusable(f"there is no sheet '{name}'", nearest(name, names))
    full = [each for each in sheets if each.cells and not each.hidden]
    if name is not None:
        full = [each for each in sheets if each.name == name]
    if len(full) > 1:
        listed = ", ".join(f"'{each.name}'" for each in full[:10])
        remedy = f"Name one after a '#', as in '{file}#{full[0].name}'"
        raise Unusable(f"{len(full)} sheets have contents: {listed}", remedy)
    if not full or not (full[0].cells or full[0].faults):
        raise Unusable("no cell is filled in", "Write sizes in the first row, a row for a colour")
    return full[0]


def _office_sheets(content: bytes, parts: dict[str, bytes], budget: Budget) -> Iterator[Sheet]:
    """The sheets of an .xlsx, by openpyxl; ECMA-376."""
    for part in parts.values():
        if _STRICT in part[:_HEAD_BYTES]:
            raise Unusable("this is 'Strict Open XML', which can't be read", SAVE_AGAIN)
        try:
            walk(part)
        except NoXml:
            continue  # a picture, say; whoever needs it as XML stops at the same place
    budget.keep_time()
    with _told():
        from openpyxl.reader.excel import ExcelReader

        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # of what it leaves out, such as lists to choose from
            reader = ExcelReader(BytesIO(content), True, data_only=True, keep_links=False)
            reader.read()
        places = {each.name: relation.target for each, relation in reader.parser.find_sheets()}
    for each in reader.wb.worksheets:
        sheet = Sheet(each.title, hidden=each.sheet_state != "visible")
        for cell in _office_cells(each, budget):
            text = _office_text(sheet, cell)
            sheet.put(cell.row, cell.column, text, budget)
        _add_office_faults(sheet, parts[places[each.title]])
        yield sheet


def _office_cells(sheet: Any, budget: Budget) -> Iterator[Any]:
    """The cells that have a value."""
    with _told(), warnings.catch_warnings():
        warnings.simplefilter("ignore")  # of dates that are none
        sheet.reset_dimensions()  # what it says of its own size may be far from the truth
        for row in sheet.iter_rows():
            budget.keep_time()
            yield from (cell for cell in row if cell.value is not None)


def _office_text(sheet: Sheet, cell: Any) -> str:
    value = cell.value
    if isinstance(value, date | time | timedelta):
        sheet.blame_date(cell.row, cell.column, str(value))
    elif cell.data_type == "e":
        sheet.blame_error(cell.row, cell.column, str(value))
    if isinstance(value, int | float) and not isinstance(value, bool):
        return figures(value)
    return str(value)


def _add_office_faults(sheet: Sheet, content: bytes) -> None:
    """What openpyxl passes over when it reads on the fly: merged cells, formulas without value,
    and what nobody sees."""
    at, inside, formula, value, row = "", "", False, False, 0

    def start(name: str, attributes: dict[str, str]) -> None:
        nonlocal at, inside, formula, value, row
        inside = name
        if name == "row":  # its number may be left out
            row = _count(attributes, "r") if "r" in attributes else row + 1
        if name == "c":
            at, formula = attributes.get("r", ""), False
            value = attributes.get("t") == "str"  # one that gives no letters has no value either
        formula = formula or name == "f"
        if attributes.get("hidden") in ("1", "true"):
            if name == "row":
                sheet.hide(rows=(row, row))
            if name == "col":
                sheet.hide(columns=(_count(attributes, "min"), _count(attributes, "max")))
        if name == "mergeCell":
            span = attributes.get("ref", "")
            sheet.blame_merged(*_place(span.partition(":")[0]), span)

    def end(name: str) -> None:
        if name == "c" and formula and not value:
            sheet.blame_formula(*_place(at))

    def text(text: str) -> None:
        nonlocal value
        value = value or (inside == "v" and bool(text.strip()))

    walk(content, start, end, text)
    sheet.blame_unseen()


def _place(name: str) -> tuple[int, int]:
    """Row and column of 'B4'; raises NoXml where it is no such name."""
    found = re.fullmatch(r"([A-Z]{1,3})([0-9]{1,7})", name)
    if found is None:
        raise NoXml
    column = 0
    for letter in found[1]:
        column = column * 26 + ord(letter) - ord("A") + 1
    return int(found[2]), column


def _open_document_sheets(content: bytes, budget: Budget) -> list[Sheet]:
    """The sheets of a content.xml (OpenDocument 1.3, part 3, 9)."""
    reader = _OpenDocument(budget)
    walk(content, reader.start, reader.end, reader.text)
    return reader.sheets


_GROUPS = ("table:table-row-group", "table:table-column-group")


class _Cell(NamedTuple):
    """One cell, or several alike beside one another, as the file has it."""

    column: int
    times: int
    values: dict[str, str]
    text: str


class _OpenDocument:
    """Gathers the sheets of a content.xml while it is walked through."""

    def __init__(self, budget: Budget) -> None:
        self.sheets: list[Sheet] = []
        self._budget = budget
        self._inside: list[str] = []
        self._style = ""
        self._hidden: set[str] = set()
        self._row = self._column = self._rows = 1
        self._values: dict[str, str] = {}
        self._said: list[str] = []
        self._cells: list[_Cell] = []
        self._folded: list[bool] = []

    def start(self, name: str, values: dict[str, str]) -> None:
        """An element begins."""
        self._budget.keep_time()
        self._inside.append(name)
        if name == "style:style":
            self._style = values.get("style:name", "")
        elif name == "style:table-properties" and values.get("table:display") == "false":
            self._hidden.add(self._style)
        elif name == "table:table" and self._inside.count(name) == 1:
            hidden = values.get("table:style-name") in self._hidden
            self.sheets.append(Sheet(values.get("table:name", ""), hidden=hidden))
            self._row = self._column = 1
        elif self._nested():
            return
        elif name in _GROUPS:
            self._folded.append(values.get("table:display") == "false")
        elif name == "table:table-column":
            first = self._column
            self._column += _count(values, "table:number-columns-repeated")
            if self._is_unseen(values):
                self.sheets[-1].hide(columns=(first, self._column - 1))
        elif name == "table:table-row":
            self._column, self._cells = 1, []
            self._rows = _count(values, "table:number-rows-repeated")
            if self._is_unseen(values):
                self.sheets[-1].hide(rows=(self._row, self._row + self._rows - 1))
        elif name in ("table:table-cell", "table:covered-table-cell"):
            self._values, self._said = values, []
        elif name in ("text:p", "text:line-break") and self._said:
            self._said.append("\n")
        elif name in ("text:s", "text:tab"):
            self._said.append(" ")

    def text(self, text: str) -> None:
        """What stands between marks."""
        if "text:p" in self._inside and not self._nested():
            self._said.append(text)

    def end(self, name: str) -> None:
        """An element ends."""
        nested = self._nested()
        self._inside.pop()
        if nested:
            return
        if name in ("table:table-cell", "table:covered-table-cell"):
            count = _count(self._values, "table:number-columns-repeated")
            if name == "table:table-cell":
                cell = _Cell(self._column, count, self._values, "".join(self._said))
                if _said(cell).strip() or "table:formula" in cell.values:
                    self._cells.append(cell)
            self._column += count
        elif name == "table:table-row":
            self._end_row()
        elif name in _GROUPS:
            self._folded.pop()
        elif name == "table:table":
            self.sheets[-1].blame_unseen()

    def _is_unseen(self, values: dict[str, str]) -> bool:
        """Whether nobody sees a row or a column: it is hidden, filtered out, or folded away."""
        return any(self._folded) or values.get("table:visibility") in ("collapse", "filter")

    def _nested(self) -> bool:
        """Whether this is a note, a shape, or a table within a cell."""
        inside = self._inside
        return inside.count("table:table") != 1 or any(
            each == "office:annotation" or each.startswith("draw:") for each in inside
        )

    def _end_row(self) -> None:
        for row in range(self._row, self._row + self._rows) if self._cells else ():
            for cell in self._cells:
                for column in range(cell.column, cell.column + cell.times):
                    self._put(row, column, cell)
        self._row += self._rows

    def _put(self, row: int, column: int, cell: _Cell) -> None:
        sheet, values, text = self.sheets[-1], cell.values, _said(cell)
        sheet.put(row, column, text, self._budget)
        kind = values.get("office:value-type")
        wide, high = (
            _count(values, f"table:number-{each}-spanned") for each in ("columns", "rows")
        )
        if kind in ("date", "time"):
            sheet.blame_date(row, column, text)
        elif values.get("calcext:value-type") == "error":
            sheet.blame_error(row, column, cell.text)
        elif "table:formula" in values and kind is None:
            sheet.blame_formula(row, column)
        if wide > 1 or high > 1:
            last = cell_name(row + high - 1, column + wide - 1)
            sheet.blame_merged(row, column, f"{cell_name(row, column)}:{last}")


def _said(cell: _Cell) -> str:
    """A cell's value as text."""
    kind, values = cell.values.get("office:value-type"), cell.values
    if kind in ("float", "percentage", "currency"):
        return figures(values.get("office:value", ""))
    if kind in ("date", "time", "boolean"):
        return values.get(f"office:{kind}-value", "")
    return cell.text or values.get("office:string-value", "")


def _count(values: dict[str, str], key: str) -> int:
    """How often something is there, once unless it says; raises NoXml where that is no number."""
    text = values.get(key, "1")
    if not (text.isascii() and text.isdigit() and len(text) < 10):
        raise NoXml
    return int(text)
