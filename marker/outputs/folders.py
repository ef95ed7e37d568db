"""Where the files of a job go, and what they are called."""

from __future__ import annotations

import re
from collections.abc import Sequence
from itertools import count
from pathlib import Path

from marker.cloth.fabric import Cloth
from marker.files.own_files import OwnFiles
from marker.job import Job

OUTPUTS = Path("outputs")
LAYOUT = "layout.json"


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


def cloth_starts(job: Job) -> dict[str, str]:
    """Each cloth that something is cut from -> what the names of its files begin with, where it is
    no remnants."""
    names = [cloth.name for cloth in job.cloths if cloth.name in job.pattern.cloth_names]
    return dict(zip(names, prefixes(names), strict=True))


def remnant_starts(job: Job, cloth_name: str) -> list[str]:
    """What file names of layouts on a cloth's remnants begin with, but for the first of all."""
    return [
        f"{slug(cloth.on(remnant).full_name)}-"
        for cloth in job.cloths
        if cloth.name == cloth_name
        for remnant in cloth.remnants
    ]


def layout_starts(job: Job, cloths: Sequence[Cloth]) -> list[str]:
    """What the file names of layouts begin with, each laid on the cloth or remnant of its place."""
    names = [cloth.full_name for cloth in cloths]
    known = cloth_starts(job)
    if len({cloth.name for cloth in cloths}) > 1:
        return prefixes(names)
    if known.get(cloths[0].name):  # not the first cloth of the job
        return prefixes(["", *names])[1:] if cloths[0].remnant else [known[names[0]]]
    return prefixes(names)


def files_of_layout(start: str) -> re.Pattern[str]:
    """The names of all files that are written for a layout, by what they begin with."""
    return re.compile(
        re.escape(start) + r"(layout\.json|diagram(-\d+)?\.(pdf|png|svg)|cutting-sheet\.(pdf|html))"
    )
