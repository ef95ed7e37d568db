"""Sheets of an OpenDocument spreadsheet (OpenDocument 1.3, part 3, 9)."""

from __future__ import annotations

from typing import NamedTuple

from marker.files.budget import Budget
from marker.files.sheet import NoXml, Sheet, cell_name, figures, walk


def open_document_sheets(content: bytes, budget: Budget) -> list[Sheet]:
    """The sheets of a content.xml."""
    reader = _OpenDocument(budget)
    walk(content, reader.start, reader.end, reader.text)
    return reader.sheets


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
            self._row = 1
        elif self._nested():
            return
        elif name == "table:table-row":
            self._column, self._cells = 1, []
            self._rows = _count(values, "table:number-rows-repeated")
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
