"""Measures and options of a garment on the command line: each garment has its own."""

from __future__ import annotations

import click

_GARMENT = "--garment"
_KEY = "marker.measures"

garment_option = click.option(
    _GARMENT,
    metavar="GARMENT",
    help="Draft this garment; its measures and options, such as --waist '74 cm', go with it.",
)
size_option = click.option("--size", help="Size to draft the garment in, such as 38.")


class TakesMeasures(click.Command):
    """A command whose other options, where a garment is drafted, are that garment's."""

    def parse_args(self, ctx: click.Context, args: list[str]) -> list[str]:
        ctx.meta[_KEY] = {}
        if any(arg == _GARMENT or arg.startswith(f"{_GARMENT}=") for arg in args):
            args, ctx.meta[_KEY] = self._parted(ctx, args)
        try:
            return super().parse_args(ctx, args)
        except click.NoSuchOption as error:
            if _of_a_garment(error.option_name):
                said = f"{error.option_name} belongs to a garment. Give --garment, too."
                raise click.UsageError(said, ctx) from error
            raise

    def _parted(self, ctx: click.Context, args: list[str]) -> tuple[list[str], dict[str, str]]:
        """What the command knows itself, and the rest by name."""
        known = {word for param in self.get_params(ctx) for word in param.opts}
        left: list[str] = []
        found: dict[str, str] = {}
        rest = iter(args)
        for arg in rest:
            word, equals, value = arg.partition("=")
            if not word.startswith("--") or word == "--" or word in known:
                left.append(arg)
                continue
            if not equals and (value := next(rest, "--")).startswith("--"):
                raise click.UsageError(f"{word} needs a value, such as {word} '74 cm'.", ctx)
            if word[2:] in found:
                raise click.UsageError(f"{word} is there twice.", ctx)
            found[word[2:]] = value
        return left, found


def _of_a_garment(option: str) -> bool:
    from marker.blocks.catalogue import GARMENTS

    known = (name for each in GARMENTS.values() for name in (*each.measures, *each.known_options))
    return option.removeprefix("--").replace("-", "_") in known


def measures_given() -> dict[str, str]:
    """Name -> text of the measures and options that the command was given.

    From here on lengths are written as most of them are: in inches, say.
    """
    from marker.units import Systems, show_for, show_from_here

    given: dict[str, str] = click.get_current_context().meta[_KEY]
    show_from_here(show_for(Systems.BOTH, given.values()))
    return given
