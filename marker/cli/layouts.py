"""`marker layouts` and `marker judge`: the layouts of a job that are kept, one checked again."""

from __future__ import annotations

from dataclasses import asdict
from pathlib import Path

import click

from marker.cli import shell
from marker.cli.shell import CANNOT_BE_DONE, as_json, exits_plainly, print_json, say


@click.command()
@click.argument("job", type=click.Path(path_type=Path))
@shell.out_folder
@as_json
@exits_plainly
def layouts(job: Path, out: Path | None, as_json: bool) -> None:
    """List the last layouts of JOB, the latest first, with what each would buy.

    Each of them can be judged, printed, exported and changed like the one that stands. Without
    --out those come last that a full disk had no room for: they lie in a temporary folder.
    """
    from marker.cli.shell import read_shown
    from marker.outputs.folders import job_folder
    from marker.outputs.layouts import kept_layouts, rescued_layouts
    from marker.reports.facts import to_json
    from marker.reports.kept import KeptReport, kept_lines

    read = read_shown(job)
    kept = kept_layouts(out or job_folder(read.name))
    rescued = () if out else rescued_layouts(job)
    report = KeptReport(read.name, kept + rescued)
    if as_json:
        print_json(to_json(report))
    else:
        say("\n".join(kept_lines(report)))


@click.command()
@click.argument("layout", type=click.Path(path_type=Path))
@as_json
@exits_plainly
def judge(layout: Path, as_json: bool) -> None:
    """Check a stored LAYOUT.json against the job it was made from."""
    from marker.jobfile.stored import layout_of_job
    from marker.units import show_from_here

    again = layout_of_job(layout)
    show_from_here(again.job.show)
    found = again.findings()
    if as_json:
        findings = [asdict(finding) for finding in found]
        changed = bool(again.changed)
        print_json({"clean": not found, "job_changed": changed, "findings": findings})
    for line in [again.changed] if again.changed else map(str, found):
        say(line, err=as_json)
    if found:
        raise SystemExit(CANNOT_BE_DONE)
    say(
        f"{layout} is sound: every piece is there, none overlap, all lie inside the usable cloth, "
        "grain and nap are kept.",
        err=as_json,
    )
