"""Opening files that people give us: nothing is read before its size is known."""

from __future__ import annotations

import os
import re
from enum import Enum
from pathlib import Path

from marker.files.budget import MEGABYTE, Most
from marker.files.faults import Unusable

_HEAD_BYTES = 1000


class Kind(Enum):
    """What a file is by its first bytes, where people mix files up."""

    PDF = re.compile(rb"[^\n]{0,200}%PDF-")
    SVG = re.compile(rb"\s*<(?:\?xml|svg|!)")
    DXF = re.compile(rb"\s*(?:999[^\n]*\n[^\n]*\n\s*)*0\s*\r?\n\s*SECTION|AutoCAD Binary DXF")
    JSON = re.compile(rb"(?:\xef\xbb\xbf)?\s*\{")
    PICTURE = re.compile(rb"\x89PNG|\xff\xd8\xff|GIF8|RIFF....WEBP|II\*\0|MM\0\*", re.DOTALL)


def kind_of(path: Path) -> Kind | None:
    """What a file is by its first bytes; None for any other, or one that can't be read."""
    try:
        if not path.is_file():
            return None
        with path.open("rb") as file:
            head = file.read(_HEAD_BYTES)
    except (OSError, ValueError):
        return None
    return next((kind for kind in Kind if kind.value.match(head)), None)


def is_file(path: Path) -> bool:
    """Whether this is a file; not what no file can be called, or what nobody may look at."""
    try:
        return path.is_file()
    except (OSError, ValueError):
        return False


def is_there(path: Path) -> bool:
    """Whether there is a file or a folder, as far as one may look."""
    try:
        return path.exists()
    except (OSError, ValueError):
        return False


def plain_path(path: Path) -> Path:
    """The path without 'out/..', unless that names another file, as behind a link."""
    short = Path(os.path.normpath(path))
    same = not is_there(path) or (is_there(short) and short.samefile(path))
    return short if same else path


def read_bytes(path: Path, largest: Most = Most.TEXT_BYTES) -> bytes:
    """Content of a file; raises Unusable if there is none, it can't be read or is too large."""
    try:
        if path.is_dir():
            raise Unusable("this is a folder, not a file", "Name the file inside it")
        if not path.exists():
            raise Unusable("there is no such file", "Check the name and the folder")
        if not path.is_file():
            raise Unusable("this is not an ordinary file", "Name a file")
        size = path.stat().st_size
        if size > largest.most:
            raise Unusable(
                f"the file has {size / MEGABYTE:.1f} MB, more than the limit of "
                f"{largest.most / MEGABYTE:.0f} MB",
                largest.remedy,
            )
        return path.read_bytes()
    except (OSError, ValueError) as error:  # ValueError: a NUL inside the name
        reason = getattr(error, "strerror", None) or str(error)
        raise Unusable(
            f"the file can't be read ({reason})", "Check that you may read it"
        ) from error


def read_text(path: Path, largest: Most = Most.TEXT_BYTES) -> str:
    """Text of a UTF-8 file; raises Unusable like `read_bytes`, or when it is not UTF-8."""
    content = read_bytes(path, largest)
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = content.count(b"\n", 0, error.start) + 1
        raise Unusable(
            f"the file is not UTF-8 text (line {line})", "Save it as plain text in UTF-8", line
        ) from error
