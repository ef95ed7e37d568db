"""`marker check`: read a job, list what it cuts, lay nothing."""

from __future__ import annotations

from pathlib import Path

import click

from marker.cli.shell import as_json, exits_plainly, print_json


@click.command()
@click.argument("job", type=click.Path(path_type=Path))
@as_json
@exits_plainly
def check(job: Path, as_json: bool) -> None:
    """Read JOB and list every fault, or else what it cuts and how its seams meet."""
    from marker import plan
    from marker.cli.report import inventory, inventory_lines
    from marker.files.job import read_job

    read = read_job(job)
    facts = inventory(read, plan.tasks(read.with_order(dict.fromkeys(read.sizes, 1))))
    if as_json:
        print_json(facts)
    else:
        click.echo("\n".join(inventory_lines(facts)))
