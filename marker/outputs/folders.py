"""Where the files of a job go, and what they are called."""

from __future__ import annotations

import re
from collections.abc import Sequence
from itertools import count
from pathlib import Path

from marker.files.own_files import OwnFiles

OUTPUTS = Path("outputs")


def slug(name: str) -> str:
    """A name as a plain file name."""
    return re.sub(r"[^\w-]+", "-", name.lower()).strip("-") or "job"


def job_folder(name: str, suffix: str = "", root: Path = OUTPUTS) -> Path:
    """The folder of a job by its name. Jobs whose names differ only in what a file name can't show
    have folders of their own.

    suffix : of a folder beside it, such as '-order'.
    """
    stem = f"{slug(name)}{suffix}"
    for number in count(1):
        folder = root / (stem if number == 1 else f"{stem}_{number}")
        if not folder.is_dir() or OwnFiles(folder).name in (None, name):
            return folder
    raise AssertionError("there is always another number")


def prefixes(names: Sequence[str]) -> list[str]:
    """What the file names of each cloth begin with: nothing for the first, then the cloth's name,
    numbered where two names differ only in what a file name can't show."""
    slugs = [slug(name) for name in names[1:]]
    numbered = [
        slug if slug not in slugs[:k] else f"{slug}_{k + 2}" for k, slug in enumerate(slugs)
    ]
    return ["", *(f"{slug}-" for slug in numbered)]
