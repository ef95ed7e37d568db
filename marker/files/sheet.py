"""One sheet of a spreadsheet, and walking through the XML that it is kept in."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from itertools import groupby
from typing import NamedTuple, NoReturn
from xml.parsers import expat

from marker.files.budget import Budget, Most
from marker.files.faults import Unusable
from marker.words import lettered

SAVE_AGAIN = "Save it as .xlsx, .ods or CSV (UTF-8), without a password, and give that file"
_LARGE = 1e15  # beyond it a float has no digit for ones
_SHOWN = 40  # letters of what stands in a cell


class SheetFault(NamedTuple):
    """What is wrong in a cell; rows and columns count from 1."""

    row: int
    column: int
    problem: str
    remedy: str


@dataclass
class Sheet:
    """What stands in one sheet.

    cells : (row, column) from 1 -> text, empty ones left out. faults : cells whose contents are no
    plain text or number. hidden : a person does not see it.
    """

    name: str
    cells: dict[tuple[int, int], str] = field(default_factory=dict)
    faults: list[SheetFault] = field(default_factory=list)
    hidden: bool = False
    _unseen_rows: set[int] = field(default_factory=set)
    _unseen_columns: set[int] = field(default_factory=set)

    def rows(self) -> Iterator[tuple[int, list[str]]]:
        """Each row that is not blank, with its number."""
        width = max((column for _, column in self.cells), default=0)
        for row in sorted({row for row, _ in self.cells}):
            yield row, [self.cells.get((row, column + 1), "") for column in range(width)]

    def put(self, row: int, column: int, text: str, budget: Budget) -> None:
        """A cell's text; raises Unusable where it stands too far out, or there are too many."""
        budget.take(Most.TABLE_CELLS)
        if row > Most.TABLE_ROWS.most or column > Most.TABLE_COLUMNS.most:
            raise Unusable(
                f"sheet '{self.name}' has something in {cell_name(row, column)}, further out than "
                "any order reaches",
                "Delete what stands far from the table",
            )
        if said := one_line(text):
            self.cells[row, column] = said

    def blame_date(self, row: int, column: int, text: str) -> None:
        """A date or a time."""
        remedy = "Format the cell as text, and write anew what it shall say"
        self._blame(row, column, f"a date or a time stands here ({text[:_SHOWN]})", remedy)

    def blame_error(self, row: int, column: int, text: str) -> None:
        """A formula that gives an error."""
        remedy = "Correct the formula, or write the value in its place"
        self._blame(row, column, f"its formula gives '{text[:_SHOWN]}'", remedy)

    def blame_formula(self, row: int, column: int) -> None:
        """A formula without a value."""
        remedy = "Open the file in a spreadsheet program and save it again, or write the value"
        self._blame(row, column, "its formula has not been worked out", remedy)

    def blame_merged(self, row: int, column: int, span: str) -> None:
        """The first of cells that are merged; none where nothing is written in it."""
        if (row, column) in self.cells:
            remedy = "Split them, and fill in each cell"
            self._blame(row, column, f"cells {span[:_SHOWN]} are merged", remedy)

    def hide(self, rows: tuple[int, int] = (1, 0), columns: tuple[int, int] = (1, 0)) -> None:
        """Nobody sees these rows and columns, from the first to the last of each."""
        for (first, last), most, unseen in (
            (rows, Most.TABLE_ROWS.most, self._unseen_rows),
            (columns, Most.TABLE_COLUMNS.most, self._unseen_columns),
        ):
            unseen.update(range(first, min(last, most) + 1))

    def blame_unseen(self) -> None:
        """What stands in hidden rows and columns: nobody can tell whether it is to be cut."""
        for what, unseen, axis, name in (
            ("row", self._unseen_rows, 0, str),
            ("column", self._unseen_columns, 1, lettered),
        ):
            filled = [cell for cell in self.cells if cell[axis] in unseen]
            for first, last in _runs(sorted({cell[axis] for cell in filled})):
                at = min(cell for cell in filled if cell[axis] == first)
                said = f"{what} {name(first)} is hidden, and is filled in"
                remedy = "Show it if it is to be cut, or else delete it"
                if last > first:
                    said = f"{what}s {name(first)} to {name(last)} are hidden, and are filled in"
                    remedy = "Show them if they are to be cut, or else delete them"
                self._blame(*at, said, remedy)

    def _blame(self, row: int, column: int, problem: str, remedy: str) -> None:
        self.faults.append(SheetFault(row, column, problem, remedy))


def _runs(numbers: Sequence[int]) -> Iterator[tuple[int, int]]:
    """First and last of those that follow one another."""
    for _, run in groupby(enumerate(numbers), lambda each: each[1] - each[0]):
        found = [number for _, number in run]
        yield found[0], found[-1]


def one_line(text: str) -> str:
    """A cell's text with single spaces in place of line breaks and the like."""
    return " ".join(text.split())


def cell_name(row: int, column: int) -> str:
    """'B4'."""
    return f"{lettered(column)}{row}"


def figures(number: float | str) -> str:
    """A number as text, whole ones without a point; a text that is none as it is."""
    try:
        value = float(number)
    except ValueError:
        return str(number)
    return str(int(value)) if value.is_integer() and abs(value) < _LARGE else str(value)


class NoXml(Unusable):
    """What should be XML is something else."""

    def __init__(self) -> None:
        super().__init__("it can't be read: it is damaged, or a password protects it", SAVE_AGAIN)


def walk(
    content: bytes,
    start: Callable[[str, dict[str, str]], None] | None = None,
    end: Callable[[str], None] | None = None,
    text: Callable[[str], None] | None = None,
) -> None:
    """Walk an XML text without building it, each element told as 'prefix:local'.

    Raises NoXml where it is none, and Unusable where it declares anything of its own, before that
    is expanded.
    """
    parser = expat.ParserCreate(namespace_separator=" ")
    parser.buffer_text = True
    parser.StartDoctypeDeclHandler = parser.EntityDeclHandler = _refuse
    if start is not None:
        parser.StartElementHandler = lambda name, values: start(
            _short(name), {_short(key): value for key, value in values.items()}
        )
    if end is not None:
        parser.EndElementHandler = lambda name: end(_short(name))
    if text is not None:
        parser.CharacterDataHandler = text
    try:
        parser.Parse(content, True)
    except (expat.ExpatError, ValueError, LookupError) as error:  # the last two: of encodings
        raise NoXml from error


def _refuse(*_declaration: object) -> NoReturn:
    raise Unusable("its XML declares entities or other rules of its own", SAVE_AGAIN)


def _short(name: str) -> str:
    """'urn:…:table:1.0 table-cell' -> 'table:table-cell'; OpenDocument's alone have a prefix."""
    space, _, local = name.rpartition(" ")
    spaces = space.split(":")
    return f"{spaces[-2]}:{local}" if spaces[0] == "urn" and len(spaces) > 2 else local
