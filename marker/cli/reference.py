"""`marker reference`: the job file's reference, or one key or topic of it."""

from __future__ import annotations

import click

from marker.cli.shell import exits_plainly


@click.command()
@click.argument("name", nargs=-1, metavar="[KEY or TOPIC]")
@click.option("--schema", is_flag=True, help="Print the JSON Schema, for editors, instead.")
@exits_plainly
def reference(name: tuple[str, ...], schema: bool) -> None:
    """Print what a job file may say: all of it, or a KEY such as cloth.nap, or a TOPIC."""
    from marker.jobfile.editor_schema import editor_schema_text
    from marker.jobfile.reference import reference as text

    if schema:
        click.echo(editor_schema_text(), nl=False)
    else:
        click.echo(text(" ".join(name)))
