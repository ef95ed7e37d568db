"""Spreadsheets for tests: .xlsx by openpyxl, .ods written here."""

from __future__ import annotations

import zipfile
from collections.abc import Callable, Mapping, Sequence
from io import BytesIO

from openpyxl import Workbook

Rows = Mapping[str, Sequence[Sequence[object]]]
"""Name of a sheet -> its rows."""

_HEAD = "".join(
    f' xmlns:{name}="urn:oasis:names:tc:opendocument:xmlns:{name}:1.0"'
    for name in ("office", "table", "text", "style")
)
ERRORS = ' xmlns:calcext="urn:org:documentfoundation:names:experimental:calc:xmlns:calcext:1.0"'


def workbook(sheets: Rows, change: Callable[[Workbook], object] | None = None) -> bytes:
    """An .xlsx of these rows. change : what is done to it before it is saved."""
    book = Workbook()
    book.remove(book.worksheets[0])
    for name, rows in sheets.items():
        sheet = book.create_sheet(name)
        for row in rows:
            sheet.append(list(row))
    if change is not None:
        change(book)
    written = BytesIO()
    book.save(written)
    return written.getvalue()


def patched(content: bytes, part: str, old: bytes, new: bytes) -> bytes:
    """The same archive, `old` in one of its files replaced."""
    written = BytesIO()
    with zipfile.ZipFile(BytesIO(content)) as read, zipfile.ZipFile(written, "w", 8) as archive:
        for name in read.namelist():
            found = read.read(name)
            assert name != part or old in found
            archive.writestr(name, found.replace(old, new) if name == part else found)
    return written.getvalue()


def cell(value: object, more: str = "") -> str:
    """A cell of an .ods. more : attributes."""
    if value is None:
        return f"<table:table-cell {more}/>"
    kind = "string" if isinstance(value, str) else f'float" office:value="{value}'
    said = f"<text:p>{value}</text:p>"
    return f'<table:table-cell office:value-type="{kind}" {more}>{said}</table:table-cell>'


def open_document(sheets: Rows, before: str = "") -> bytes:
    """An .ods of these rows; texts that begin with '<' are cells as they are written.

    before : what stands before its root.
    """
    tables = "".join(
        f'<table:table table:name="{name}">{"".join(map(_row, rows))}</table:table>'
        for name, rows in sheets.items()
    )
    written = BytesIO()
    with zipfile.ZipFile(written, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("mimetype", "application/vnd.oasis.opendocument.spreadsheet")
        body = f"<office:body><office:spreadsheet>{tables}</office:spreadsheet></office:body>"
        root = f"<office:document-content{_HEAD}{ERRORS}>{body}</office:document-content>"
        archive.writestr("content.xml", f'<?xml version="1.0"?>{before}{root}')
    return written.getvalue()


def _row(values: Sequence[object]) -> str:
    cells = "".join(
        each if isinstance(each, str) and each.startswith("<") else cell(each) for each in values
    )
    return f"<table:table-row>{cells}</table:table-row>"
