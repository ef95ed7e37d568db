"""Opening files that people give us: nothing is read before its size is known."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path
from typing import Any

from marker.files.faults import Unusable

MEGABYTE = 1_000_000
LARGEST_BYTES = 5 * MEGABYTE


def read_bytes(path: Path, largest: int = LARGEST_BYTES) -> bytes:
    """Content of a file; raises Unusable if there is none, it can't be read or is too large."""
    try:
        if path.is_dir():
            raise Unusable("this is a folder, not a file", "Name the file inside it")
        if not path.exists():
            raise Unusable("there is no such file", "Check the name and the folder")
        if not path.is_file():
            raise Unusable("this is not an ordinary file", "Name a file")
        size = path.stat().st_size
        if size > largest:
            raise Unusable(
                f"the file has {size / MEGABYTE:.1f} MB, more than the limit of "
                f"{largest / MEGABYTE:.0f} MB",
                "Check that it is the right file, or split it",
            )
        return path.read_bytes()
    except (OSError, ValueError) as error:  # ValueError: a NUL inside the name
        reason = getattr(error, "strerror", None) or str(error)
        raise Unusable(
            f"the file can't be read ({reason})", "Check that you may read it"
        ) from error


def read_text(path: Path, largest: int = LARGEST_BYTES) -> str:
    """Text of a UTF-8 file; raises Unusable like `read_bytes`, or when it is not UTF-8."""
    content = read_bytes(path, largest)
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = content.count(b"\n", 0, error.start) + 1
        raise Unusable(
            f"the file is not UTF-8 text (line {line})", "Save it as plain text in UTF-8"
        ) from error


def parse_toml(text: str) -> dict[str, Any]:
    """The tables of a TOML text; raises Unusable where it is none."""
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        said = str(error)
        found = re.search(r"\(at (line \d+, column \d+|end of document)\)", said)
        where = found[1] if found else "somewhere"
        raise Unusable(
            f"broken TOML at {where}: {said.split(' (at ')[0].lower()}",
            "Mend that line; texts stand in quotation marks, lists in square brackets",
        ) from error
    except (ValueError, RecursionError) as error:  # numbers of thousands of digits, deep nesting
        raise Unusable("this can't be a job file", "Start from `marker new`") from error
