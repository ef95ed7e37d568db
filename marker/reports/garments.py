"""The garments that can be drafted: what each is, its measures and its options."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from marker.blocks.body import MEASURES, SIZES
from marker.blocks.catalogue import GARMENTS
from marker.blocks.garment import Garment
from marker.blocks.options import Kind, Option


@dataclass(frozen=True)
class MeasureReport:
    """A measure of the body, by the name that the command takes."""

    name: str
    says: str


@dataclass(frozen=True)
class OptionReport:
    """An option; `usual` is what it is unless given, None where it comes from the measures."""

    name: str
    says: str
    usual: str | None
    can_be: str


@dataclass(frozen=True)
class GarmentReport:
    """One garment."""

    name: str
    says: str
    method: str
    measures: tuple[MeasureReport, ...]
    options: tuple[OptionReport, ...]


@dataclass(frozen=True)
class GarmentsReport:
    """All of them, and the sizes they come in; `files` are the pictures drawn of them."""

    sizes: tuple[str, ...]
    garments: tuple[GarmentReport, ...]
    files: tuple[str, ...]


def garments_report(files: tuple[str, ...] = ()) -> GarmentsReport:
    """Every garment of the catalogue. files : the pictures drawn of them."""
    return GarmentsReport(tuple(SIZES), tuple(map(_garment, GARMENTS.values())), files)


def _garment(garment: Garment) -> GarmentReport:
    measures = (MEASURES[name] for name in garment.measures)
    return GarmentReport(
        garment.name,
        garment.says,
        garment.method,
        tuple(MeasureReport(_flag(each.name), each.says) for each in measures),
        tuple(map(_option, garment.known_options.values())),
    )


def _option(option: Option) -> OptionReport:
    usual = None if option.usual is None else option.text(option.usual)
    can_be = (
        ", ".join(option.words)
        if option.kind is Kind.WORD
        else f"{option.text(option.low)} to {option.text(option.high)}"
    )
    return OptionReport(_flag(option.name), option.says, usual, can_be)


def _flag(name: str) -> str:
    return name.replace("_", "-")


def garment_lines(report: GarmentsReport) -> Iterator[str]:
    """The same as lines for a person."""
    yield 'Drafted by: marker new NAME --garment GARMENT --size 38, or --waist "74 cm" and so on.'
    yield f"Sizes: {', '.join(report.sizes)} (those above 100 are children's heights in cm)."
    for garment in report.garments:
        yield ""
        yield f"{garment.name}: {garment.says}"
        yield f"  drafted by {garment.method}"
        for measure in garment.measures:
            yield f"  --{measure.name}: {measure.says}"
        for option in garment.options:
            usual = "by the measures unless given" if option.usual is None else option.usual
            yield f"  --{option.name}: {option.says} [{usual}; {option.can_be}]"
    if report.files:
        yield ""
        yield f"Drawn in {', '.join(report.files)}"
