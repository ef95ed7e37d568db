"""`marker judge`: the independent check of a stored layout."""

from __future__ import annotations

from dataclasses import asdict
from pathlib import Path

import click

from marker.cli.shell import CANNOT_BE_DONE, as_json, exits_plainly, print_json, say


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
