"""What the garments under pieces/ must fulfil: seams sewn together, girths, matching notches."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from pathlib import Path

from marker.job import Job
from marker.jobfile.reading import read_job
from marker.pattern.piece import Piece
from marker.pattern.stitching import edge_length_mm

PIECES = Path(__file__).parents[2] / "pieces"
GARMENTS = ("choir-dress", "choir-robe", "half-circle-skirt", "pinafore", "shirt")


@dataclass(frozen=True)
class Sewn:
    """Seams that meet: half a garment, 'piece.seam' on both sides, and the first side's ease."""

    garment: str
    side: tuple[str, ...]
    other: tuple[str, ...]
    ease_mm: float = 0.0


@dataclass(frozen=True)
class Matched:
    """Every notch of one seam meets one of the other; `against` if they run opposite ways."""

    garment: str
    seam: str
    other: str
    against: bool = False


SEWN = (
    Sewn("choir-dress", ("bodice front.shoulder",), ("bodice back.shoulder",)),
    Sewn("choir-dress", ("bodice front.side",), ("bodice back.side",)),
    Sewn("choir-dress", ("bodice front.waist",), ("skirt front.waist",)),
    Sewn("choir-dress", ("bodice back.waist",), ("skirt back.waist",)),
    Sewn("choir-dress", ("skirt front.side",), ("skirt back.side",)),
    Sewn("shirt", ("front.shoulder",), ("yoke.shoulder",)),
    Sewn("shirt", ("back.yoke",), ("yoke.back",)),
    Sewn("shirt", ("front.side",), ("back.side",)),
    Sewn("shirt", ("front.band",), ("front band.front",)),
    Sewn(
        "shirt",
        ("sleeve.front cap", "sleeve.back cap"),
        ("front.armhole", "yoke.armhole", "back.armhole"),
        ease_mm=10,
    ),
    Sewn("shirt", ("sleeve.front seam",), ("sleeve.back seam",)),
    Sewn("shirt", ("sleeve.wrist",), ("cuff.sleeve",), ease_mm=40),
    # the band's finished width, 30 mm, is the rest of the neckline
    Sewn("shirt", ("collar stand.neck",), ("yoke.neck", "front.neck"), ease_mm=30),
    Sewn("shirt", ("collar.stand",), ("collar stand.collar",)),
    Sewn("choir-robe", ("front.shoulder",), ("back.shoulder",)),
    Sewn("choir-robe", ("front.side",), ("back.side",)),
    Sewn(
        "choir-robe",
        ("sleeve.front cap", "sleeve.back cap"),
        ("front.armhole", "back.armhole"),
        ease_mm=10,
    ),
    Sewn("choir-robe", ("sleeve.front seam",), ("sleeve.back seam",)),
    Sewn("half-circle-skirt", ("skirt.left",), ("skirt.right",)),
    Sewn("pinafore", ("bodice front.side",), ("bodice back.side",)),
    Sewn("pinafore", ("bodice front.waist",), ("waistband.bodice",)),
    Sewn("pinafore", ("bodice back.waist",), ("waistband.bodice",)),
    Sewn("pinafore", ("skirt front.waist",), ("waistband.skirt",)),
    Sewn("pinafore", ("skirt back.waist",), ("waistband.skirt",)),
    Sewn("pinafore", ("skirt front.side",), ("skirt back.side",)),
    Sewn("pinafore", ("front facing.armhole",), ("bodice front.armhole",)),
    Sewn("pinafore", ("back facing.armhole",), ("bodice back.armhole",)),
    Sewn("pinafore", ("front facing.top",), ("bodice front.top",)),
    Sewn("pinafore", ("back facing.top",), ("bodice back.top",)),
    Sewn("pinafore", ("front facing.side",), ("back facing.side",)),
)

MATCHED = (
    Matched("choir-dress", "bodice front.side", "bodice back.side"),
    Matched("choir-dress", "skirt front.side", "skirt back.side"),
    Matched("shirt", "front.side", "back.side"),
    Matched("shirt", "front.armhole", "sleeve.front cap"),
    Matched("shirt", "back.armhole", "sleeve.back cap", against=True),
    Matched("shirt", "back.yoke", "yoke.back", against=True),
    Matched("shirt", "collar.stand", "collar stand.collar", against=True),
    Matched("choir-robe", "front.armhole", "sleeve.front cap"),
    Matched("choir-robe", "back.armhole", "sleeve.back cap", against=True),
    Matched("half-circle-skirt", "skirt.left", "skirt.right", against=True),
    Matched("pinafore", "bodice front.side", "bodice back.side"),
    Matched("pinafore", "skirt front.side", "skirt back.side"),
    Matched("pinafore", "front facing.armhole", "bodice front.armhole"),
    Matched("pinafore", "back facing.armhole", "bodice back.armhole"),
)


@cache
def job_of(garment: str) -> Job:
    """The garment's job, read once."""
    return read_job(PIECES / garment / "job.toml")


GRADED = tuple((garment, size) for garment in GARMENTS for size in job_of(garment).sizes)


def drawing_of(garment: str) -> Path:
    """The drawing of the garment's sample size."""
    by_size = PIECES / garment / "pattern-38.svg"
    return by_size if by_size.exists() else PIECES / garment / "pattern.svg"


def piece_of(garment: str, name: str, size: str = "38") -> Piece:
    """One piece of the garment by name."""
    return next(piece for piece in job_of(garment).in_size(size).pieces if piece.name == name)


def length_of(garment: str, *seams: str, size: str = "38") -> float:
    """Stitching-line length of the 'piece.seam's together, as drawn, mm."""
    named = (seam.split(".") for seam in seams)
    return sum(edge_length_mm(piece_of(garment, piece, size), seam) for piece, seam in named)
