"""`marker new`: a commented starter job."""

from __future__ import annotations

from pathlib import Path

import click

from marker.cli.shell import exits_plainly


@click.command()
@click.argument("name")
@exits_plainly
def new(name: str) -> None:
    """Write a commented starter job NAME/job.toml that runs as it is."""
    from marker.errors import Fault, FaultyInput
    from marker.files.writing import prepare_folder, write_atomically
    from marker.jobfile.starter import starter_job

    folder = Path(name)
    path = folder / "job.toml"
    text = starter_job(folder.name)
    if path.exists():
        raise FaultyInput([Fault(str(path), "there is a job already", "Choose another name")])
    prepare_folder(folder)
    write_atomically(path, text)
    click.echo(f"Wrote {path}. Change it to your own pattern, then: marker lay {path}")
