"""A stored layout judged again, for the commands that print or export it."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from marker.job import Job
    from marker.layout import CheckedLayout


def checked_again(path: Path) -> tuple[Job, CheckedLayout]:
    """The job of a layout file, and its layout after another pass through the judge; says so on
    standard error where the job has changed and the layout is sound for it all the same.

    Raises FaultyInput for either file, JudgeRefused for a layout that is no longer sound.
    """
    from marker.jobfile.stored import layout_of_job

    found = layout_of_job(path)
    checked = found.checked()
    if found.changed:
        click.echo(f"note: {found.changed} It is still sound for the job as it is now.", err=True)
    return found.job, checked
