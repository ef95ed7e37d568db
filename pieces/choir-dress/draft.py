"""Choir dress: the tank dress of `marker.blocks` in six sizes, its jersey with a price."""

from __future__ import annotations

from dataclasses import replace

from marker.blocks.body import Body
from marker.blocks.catalogue import GARMENTS
from marker.blocks.garment import Block
from marker.cloth.fabric import Price
from marker.jobfile.drafted import drafted_files
from marker.units import System

SIZES, SAMPLE = ("34", "36", "38", "40", "42", "44"), "38"
PRICE = Price(14.90, 1000.0, "EUR")


def files() -> dict[str, str]:
    """The job, and a drawing for each size."""
    bodies = {size: Body.of_size(size) for size in SIZES}
    drafted = GARMENTS["tank dress"].drafted(bodies, SAMPLE, {})
    priced = {size: _priced(block) for size, block in drafted.sizes.items()}
    return drafted_files(replace(drafted, sizes=priced), "choir dress", System.METRIC)


def _priced(block: Block) -> Block:
    jersey, *others = block.cloths
    return replace(block, cloths=(replace(jersey, price=PRICE), *others))
