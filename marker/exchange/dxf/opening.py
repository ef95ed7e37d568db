"""Opening DXF files that people give us, with ezdxf, which corrects what is merely untidy."""

from __future__ import annotations

import logging
import re
from collections.abc import Iterator
from contextlib import contextmanager
from io import BytesIO
from pathlib import Path
from typing import TYPE_CHECKING, Any

from marker.exchange.dxf.standard import CURVE_POINTS
from marker.files.budget import Most
from marker.files.faults import BROKEN, Unusable
from marker.files.reading import read_bytes

if TYPE_CHECKING:
    from ezdxf.document import Drawing

_EOF = re.compile(rb"(?:^|\n)[ \t]*0[ \t]*\r?\n[ \t]*EOF[ \t]*[\r\n\x1a ]*\Z")
_TEXT_AGAIN = "Export it again as text DXF (ASCII), release 12 or later"


def open_dxf(path: Path) -> Drawing:
    """The file's drawing; raises Unusable if it is none, is cut short or is beyond correcting."""
    content = read_bytes(path, Most.DXF_BYTES)
    _check_kind(content)
    Most.DXF_LINES.demand(content.count(b"\n"))
    content = _without_curve_points(content)
    lines = content.split(b"\n")
    Most.DXF_LINE_BYTES.demand(max(map(len, lines)))
    entities = sum(code.strip() == b"0" for code in lines[::2])
    Most.DXF_ENTITIES.demand(entities)
    from ezdxf import recover  # slow to load, and most commands read no DXF
    from ezdxf.lldxf.const import DXFError

    logging.getLogger("ezdxf").addHandler(logging.NullHandler())  # or it prints what it corrects
    try:
        document, _ = recover.read(BytesIO(content), errors="ignore")
    except (RecursionError, OverflowError, MemoryError) as error:
        raise Unusable("the DXF is beyond reading", _TEXT_AGAIN) from error
    except (DXFError, *BROKEN) as error:
        raise Unusable(f"the DXF is broken ({_short(error)})", _TEXT_AGAIN) from error
    return document


@contextmanager
def sound_entity() -> Iterator[None]:
    """ezdxf inside, asked for one entity; what it raises at a broken one becomes Unusable."""
    from ezdxf.lldxf.const import DXFError

    try:
        yield
    except (DXFError, *BROKEN) as error:
        raise Unusable("it is broken", "") from error


def _check_kind(content: bytes) -> None:
    if content.startswith(b"AutoCAD Binary DXF"):
        raise Unusable("this is binary DXF", _TEXT_AGAIN)
    if re.match(rb"AC1\d{3}", content):
        raise Unusable("this is DWG, not DXF", _TEXT_AGAIN)
    if not re.match(rb"(?:\xef\xbb\xbf)?\s*(?:999\s|0\s+SECTION)", content):
        raise Unusable("this is not DXF", "Name a DXF file")
    if not _EOF.search(content[-200:]):
        raise Unusable("the DXF ends in the middle: its EOF is missing", "Fetch the file again")


def _without_curve_points(content: bytes) -> bytes:
    """The file without the points of curves, half of a large pattern, which nothing here uses: the
    boundary has them too. A file whose tags are not in pairs of lines stays as it is."""
    lines = content.replace(b"\r\n", b"\n").split(b"\n")
    codes = [code.strip() for code in lines[::2]]
    values = lines[1 : 2 * len(codes) : 2]
    starts = [k for k, code in enumerate(codes[: len(values)]) if code == b"0"]
    kept: list[bytes] = []
    for start, end in zip(starts, [*starts[1:], len(values)], strict=True):
        if values[start].strip() == b"POINT" and (
            b"8" in codes[start:end]
            and values[codes.index(b"8", start, end)].strip() == CURVE_POINTS.encode()
        ):
            continue
        kept += lines[2 * start : 2 * end]
    whole = starts and not any(codes[: starts[0]])
    return b"\n".join([*kept, b""]) if whole else content


def _short(error: Exception) -> str:
    return " ".join(str(error).split())[:120] or type(error).__name__


# $INSUNITS, where it is a unit of cloth (DXF reference, HEADER section): mm of one unit
_INSUNITS = {1: 25.4, 2: 304.8, 4: 1.0, 5: 10.0, 6: 1000.0, 10: 914.4}


def header_scales(document: Drawing) -> list[tuple[str, float]]:
    """(what says so, mm of one unit) as the header declares it; empty when it does not."""
    units: Any = document.header.get("$INSUNITS", 0)
    known = isinstance(units, int) and units in _INSUNITS
    return [("$INSUNITS", _INSUNITS[units])] if known else []
