"""Pieces at full size on one PDF page (ISO 32000-1), vectors and one built-in font."""

from __future__ import annotations

import zlib
from collections.abc import Iterator

import numpy as np

from marker.exchange.label_place import Label, labels
from marker.exchange.laid_flat import Sheet, notch_ticks, ring
from marker.geometry.arrays import FloatArray

MARGIN_MM = 10.0
_PT = 72 / 25.4  # points of 1/72 in to the millimetre
_LONGEST_PT = 14_400  # a page's side in its own units, ISO 32000-1 annex C
_CUT, _THIN = 0.6, 0.35  # line widths, mm
_STITCHING, _INNER = "[4 2.5]", "[8 3]"


def pdf_bytes(sheet: Sheet) -> bytes:
    """The file. Sides longer than a page may be count in larger units (UserUnit), so that it
    still prints at full size."""
    sides = [(sheet.width_mm + 2 * MARGIN_MM) * _PT, (sheet.height_mm + 2 * MARGIN_MM) * _PT]
    unit = max(1, int(np.ceil(max(sides) / _LONGEST_PT)))
    box = " ".join(_number(side / unit) for side in sides)
    to_page = _PT / unit
    moved = MARGIN_MM * to_page
    drawing = "\n".join(
        [
            f"{_number(to_page, 8)} 0 0 {_number(to_page, 8)} {_number(moved)} {_number(moved)} cm",
            "1 J 1 j",
            *_content(sheet),
        ]
    )
    stream = zlib.compress(drawing.encode("cp1252"), 9)
    title = sheet.title.encode("utf-16-be").hex()
    return _file(
        [
            b"<< /Type /Catalog /Pages 2 0 R >>",
            b"<< /Type /Pages /Kids [3 0 R] /Count 1 >>",
            f"<< /Type /Page /Parent 2 0 R /MediaBox [0 0 {box}] /UserUnit {unit} /Contents 4 0 R "
            "/Resources << /Font << /F 5 0 R >> >> >>".encode(),
            f"<< /Length {len(stream)} /Filter /FlateDecode >>\nstream\n".encode()
            + stream
            + b"\nendstream",
            b"<< /Type /Font /Subtype /Type1 /BaseFont /Courier /Encoding /WinAnsiEncoding >>",
            f"<< /Title <feff{title}> >>".encode(),
        ]
    )


def _content(sheet: Sheet) -> Iterator[str]:
    if sheet.cloth:
        width, height = _number(sheet.width_mm), _number(sheet.height_mm)
        yield f"0.55 G {_THIN} w [] 0 d 0 0 {width} {height} re S 0 G"
    for piece in sheet.pieces:
        yield f"{_THIN} w {_STITCHING} 0 d"
        if len(piece.stitching):
            yield _run(ring(piece.stitching))
        yield f"{_INNER} 0 d"
        yield from (_run(line) for line in (piece.fold, *piece.inner_lines) if line is not None)
        yield "[] 0 d"
        if piece.grain is not None:
            yield from _arrow(piece.grain)
        yield f"{_CUT} w"
        yield from map(_run, notch_ticks(piece))
        yield from (_run(ring(hole)) for hole in piece.cutouts)
        yield _run(ring(piece.outline))
    yield f"{_THIN} w"
    for block in labels(sheet):
        yield from _lettered(block)


def _arrow(grain: FloatArray) -> Iterator[str]:
    tail, head = grain
    along = (head - tail) / np.hypot(*(head - tail))
    across = np.array([-along[1], along[0]])
    yield _run(grain)
    yield _run(np.array([head - 8 * along + 2.5 * across, head, head - 8 * along - 2.5 * across]))


def _lettered(block: Label) -> Iterator[str]:
    turn = np.radians(block.angle_deg)
    c, s = _number(np.cos(turn)), _number(np.sin(turn))
    yield f"BT /F {_number(block.size_mm)} Tf"
    for line in block.lines:
        x, y = map(_number, block.start(line))
        yield f"{c} {s} {_number(-np.sin(turn))} {c} {x} {y} Tm ({_text(line.text)}) Tj"
    yield "ET"
    if block.leader is not None:
        yield _run(block.leader)


def _run(points: FloatArray) -> str:
    first, *rest = (f"{_number(x)} {_number(y)}" for x, y in points)
    closed = len(points) > 2 and np.array_equal(points[0], points[-1])
    lines = "".join(f" {point} l" for point in (rest[:-1] if closed else rest))
    return f"{first} m{lines}{' s' if closed else ' S'}"


def _text(line: str) -> str:
    """A literal string's inside; what the font has no letter for as '?'."""
    plain = line.encode("cp1252", errors="replace").decode("cp1252")
    return plain.replace("\\", r"\\").replace("(", r"\(").replace(")", r"\)")


def _file(objects: list[bytes]) -> bytes:
    content = b"%PDF-1.6\n%\xe2\xe3\xcf\xd3\n"
    starts = []
    for number, body in enumerate(objects, 1):
        starts.append(len(content))
        content += f"{number} 0 obj\n".encode() + body + b"\nendobj\n"
    table = "".join(f"{start:010d} 00000 n \n" for start in starts)
    size = len(objects) + 1
    content += f"xref\n0 {size}\n0000000000 65535 f \n{table}".encode()
    trailer = f"trailer\n<< /Size {size} /Root 1 0 R /Info {len(objects)} 0 R >>\n"
    return content + (trailer + f"startxref\n{content.index(b'xref')}\n%%EOF\n").encode()


def _number(value: float, places: int = 4) -> str:
    return f"{round(float(value), places) + 0.0:.{places}f}".rstrip("0").rstrip(".")
