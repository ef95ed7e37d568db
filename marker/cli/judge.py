"""`marker judge`: the independent check of a stored layout."""

from __future__ import annotations

from dataclasses import asdict
from pathlib import Path

import click

from marker.cli.shell import CANNOT_BE_DONE, as_json, exits_plainly, print_json


@click.command()
@click.argument("layout", type=click.Path(path_type=Path))
@as_json
@exits_plainly
def judge(layout: Path, as_json: bool) -> None:
    """Check a stored LAYOUT.json against the job it was made from."""
    from marker import judge as judging
    from marker.exchange.layout_json import read_layout

    stored = read_layout(layout)
    job = stored.job()
    laid = stored.layout(job)
    pieces = job.cut_pieces(laid.cloth)
    if stored.together:
        every = [read_layout(path).layout(job) for path in stored.together]
        found = judging.findings_together(every, pieces, job.garments)
    else:
        found = judging.findings(laid, pieces, job.garments)
    if as_json:
        print_json({"clean": not found, "findings": [asdict(finding) for finding in found]})
    for finding in found:
        click.echo(f"{finding}", err=as_json)
    if found:
        raise SystemExit(CANNOT_BE_DONE)
    click.echo(
        f"{layout} is sound: every piece is there, none overlap, all lie inside the usable cloth, "
        "grain and nap are kept.",
        err=as_json,
    )
