"""`marker check`: read a job, list what it cuts, lay nothing."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import click

from marker.cli.shell import as_json, exits_plainly, print_json, say

if TYPE_CHECKING:
    from marker.job import Job


@click.command()
@click.argument("job", type=click.Path(path_type=Path))
@click.option("--nest", is_flag=True, help="Draw every piece in all its sizes over one another.")
@click.option(
    "--out",
    type=click.Path(path_type=Path),
    help="Folder for the nest; outputs/ and the name of the job unless given.",
)
@as_json
@exits_plainly
def check(job: Path, nest: bool, out: Path | None, as_json: bool) -> None:
    """Read JOB and list every fault, or else what it cuts and how its seams meet."""
    from marker.cli.shell import read_shown
    from marker.planning.tasks import tasks
    from marker.reports.check import check_lines, check_report
    from marker.reports.facts import to_json

    read = read_shown(job)
    report = check_report(read, tasks(read.with_order(dict.fromkeys(read.sizes, 1))))
    if nest:
        report = replace(report, files=tuple(_drawn(read, out)))
    if as_json:
        print_json(to_json(report))
    else:
        say("\n".join([*check_lines(report), *(f"wrote  {path}" for path in report.files or ())]))


def _drawn(job: Job, out: Path | None) -> list[Path]:
    """The nest's files, all written or none."""
    from marker.files.writing import output_folder
    from marker.outputs.drawings import write_nest
    from marker.outputs.folders import job_folder

    with output_folder(out or job_folder(job.name)) as folder:
        return write_nest(job, folder)
