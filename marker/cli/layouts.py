"""`marker layouts`: the layouts of a job that are kept."""

from __future__ import annotations

from pathlib import Path

import click

from marker.cli import shell
from marker.cli.shell import as_json, exits_plainly, print_json, say


@click.command()
@click.argument("job", type=click.Path(path_type=Path))
@shell.out_folder
@as_json
@exits_plainly
def layouts(job: Path, out: Path | None, as_json: bool) -> None:
    """List the last layouts of JOB, the latest first, with what each would buy.

    Each of them can be judged, printed, exported and changed like the one that stands.
    """
    from marker.cli.shell import read_shown
    from marker.outputs.folders import job_folder
    from marker.outputs.layouts import kept_layouts
    from marker.reports.facts import to_json
    from marker.reports.kept import KeptReport, kept_lines

    read = read_shown(job)
    report = KeptReport(read.name, kept_layouts(out or job_folder(read.name)))
    if as_json:
        print_json(to_json(report))
    else:
        say("\n".join(kept_lines(report)))
