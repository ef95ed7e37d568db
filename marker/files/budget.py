"""How much of one file is read: counted before anything is built of it, for every reader alike.

`Most` says what a pattern needs at most, with room to spare, and what is told of a file with more.
A `Budget` adds up what one file takes, wherever in a reader it is taken, and the time it takes.
"""

from __future__ import annotations

import time
from collections import Counter
from enum import Enum

from marker.files.faults import Unusable

MEGABYTE = 1_000_000
MOST_SECONDS = 20.0
"""Of one thread's processor time for one file. The counts hold long before: this is for what they
miss."""

_ALONE = "Import a drawing of the pattern alone"
_LESS = "Save the pattern's lines alone, or fewer pieces and sizes at once"
_FEWER = "Export fewer pieces or sizes at once"
_PAGES = "Choose pages with --pages, or save the pattern's pages alone"
_PLAIN = "Save it again as a plain SVG drawing"
_SHEET = "Save the order's sheet alone, as CSV (UTF-8), and give that file"
_RIGHT = "Check that it is the right file, or split it"


class Most(Enum):
    """What may be read of a file, of each kind.

    most : so many are read. problem : what is said of more, with {count} and {most} in it.
    """

    TEXT_BYTES = 5 * MEGABYTE, "", _RIGHT
    DXF_BYTES = 30 * MEGABYTE, "", _RIGHT
    PDF_BYTES = 50 * MEGABYTE, "", _RIGHT  # pictures that are passed over may take most of it
    PHOTO_BYTES = 80 * MEGABYTE, "", _RIGHT
    PHOTO_PIXELS = (
        60_000_000,
        "the picture has more than {most} pixels",
        "Photograph or scan with 8 to 50 megapixels, or make the picture smaller",
    )
    PHOTOS = 12, "there are {count} photos, more than {most}", "Import fewer at once"
    SCANNED_PAGES = (
        12,
        "the PDF has {count} pages, more than {most}",
        "Save the scans of one pattern alone",
    )
    LAYOUT_BYTES = 50 * MEGABYTE, "", _RIGHT

    SPREADSHEET_BYTES = 5 * MEGABYTE, "", _SHEET  # once it is unpacked
    TABLE_CELLS = 50_000, "more than {most} cells are filled in", _SHEET
    TABLE_ROWS = 20_000, "", ""
    TABLE_COLUMNS = 1_000, "", ""

    TOML_KEYS = 150_000, "it holds {count} keys and tables, more than {most}", "Split the job"
    TOML_ENTRIES = 500_000, "its lists have {count} entries, more than {most}", "Split the job"
    TOML_DEPTH = 12, "a key is made of more than {most} with dots between", "Write tables"

    LAYOUT_PARTS = (
        1_000_000,
        "it holds {count} points and tables, more than {most}",
        "Lay the job again",
    )
    PLACEMENTS = 10_000, "its pieces are more than {most}", "Lay the job again"
    COMPANIONS = 100, "its companions are more than {most}", "Lay the job again"

    LINES = 5_000, "the drawing has more than {most} lines", _ALONE
    TEXTS = 5_000, "the drawing has more than {most} texts", _ALONE
    POINTS = 500_000, "the drawing has more than {most} points", _ALONE
    LINE_POINTS = 20_000, "", ""  # curves, and who drew them, have words of their own
    LINE_LETTERS = 1_000_000, "", ""  # of path data
    CONTROL_POINTS = 2_000, "", ""

    CONTOURS = 500, "", ""
    PIECES = 1_000, "it has more than {most} pieces", _FEWER  # all sizes together
    MARKS = 2_000, "", "Leave some out"
    NOTCHES = 200, "", ""  # in one piece
    EDGE_POINTS = 4_000, "its line has {count} points, more than {most}", ""

    SVG_DEPTH = 200, "its elements are nested deeper than {most}", _PLAIN
    USE_DEPTH = (
        400,
        "its elements are nested deeper than {most}, or repeat themselves",
        "Save it without <use>",
    )
    SVG_ELEMENTS = (
        30_000,
        "the drawing has too many elements, more than {most}",
        "Save the pattern's lines alone, as a plain SVG drawing",
    )
    STYLE_RULES = (
        500_000,
        "the drawing has too many elements, or too many rules in its style sheets",
        "Save the pattern's lines alone, as a plain SVG drawing",
    )

    DXF_ENTITIES = 120_000, "the DXF has {count} entities, more than {most}", _FEWER
    DXF_LINES = 3_000_000, "the DXF has {count} lines of text, more than {most}", _FEWER
    DXF_LINE_BYTES = 1_000_000, "a line of the DXF has {count} letters, more than {most}", _ALONE
    INSERTED = 5_000, "inserted blocks hold more than {most} entities in all", _ALONE
    INSERT_DEPTH = 8, "", ""
    RULE_SIZES = 60, "it lists {count} sizes, more than {most}", "Split the file"
    RULES = 10_000, "", ""

    PDF_PAGES = (
        150,
        "the PDF has {count} pages, more than {most}",
        "Save the pattern's pages alone as a new PDF",
    )
    PDF_CONTENT_BYTES = 6 * MEGABYTE, "the PDF holds more than 6 MB of drawing", _PAGES
    PDF_STEPS = 400_000, "the PDF draws more than a pattern does ({most} steps)", _PAGES
    FORM_DEPTH = 12, "its drawings are nested deeper than {most}", "Flatten the PDF"
    CUT_LINES = 1_000, "", ""  # at one side of a page

    def __init__(self, most: int, problem: str, remedy: str) -> None:
        self.most, self.problem, self.remedy = most, problem, remedy

    def demand(self, count: int) -> None:
        """Raise Unusable where so many are more than are read."""
        if count > self.most:
            raise self.exceeded(count)

    def exceeded(self, count: int) -> Unusable:
        """What is said of so many."""
        return Unusable(self.problem.format(count=count, most=self.most), self.remedy)


class Budget:
    """What one file has taken so far; read a file on one thread.

    of, remedy : what the file should hold, and what helps, where it takes too long.
    """

    def __init__(
        self, seconds: float = MOST_SECONDS, of: str = "pattern", remedy: str = _LESS
    ) -> None:
        self._taken: Counter[Most] = Counter()
        self._until = time.thread_time() + seconds
        self._of, self._remedy = of, remedy

    def take(self, what: Most, count: int = 1) -> None:
        """So many more; raises Unusable once they are too many in all, or it has taken too long."""
        self._taken[what] += count
        what.demand(self._taken[what])
        self.keep_time()

    def keep_time(self) -> None:
        """Raise Unusable once the file has taken too long."""
        if time.thread_time() > self._until:
            raise Unusable(f"reading it takes longer than any {self._of} should", self._remedy)
