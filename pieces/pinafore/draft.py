"""Pinafore, drafted from body measures: lengths in mm, angles in degrees, half pieces."""

from __future__ import annotations

from blocks import Skirt, rectangle, waistline
from drafting import ACROSS, CLOCKWISE, Draft, curve, line, sheet, solve, toward

BUST, WAIST, HIP = 880, 720, 960  # EN 13402 secondary sizes, from memory
BUST_EASE, WAIST_EASE, HIP_EASE = 60, 60, 60
FRONT_HEIGHT, BACK_HEIGHT, SIDE_HEIGHT = 270, 220, 135  # above the waist
FRONT_TOP, BACK_TOP = 110, 85  # half widths
FACING_CENTRE, FACING_SIDE = 105, 45  # above the waist; down the side
WAISTBAND_DEPTH = 45

SIDE_TOP = complex((BUST + BUST_EASE) / 4, -SIDE_HEIGHT)
SKIRT = Skirt(
    waist=WAIST + WAIST_EASE,
    hip=HIP + HIP_EASE,
    length=580,
    hip_depth=200,
    flare=9.5,
    waist_slope=19,
    waist_rise=24,
)


def bodice_and_facing(side: str, top: float, height: float) -> tuple[Draft, Draft]:
    """Waist, side, armhole, top; the facing has the top, the armhole and the head of the side."""
    leaving, arriving = toward(-80), toward(-70)
    waist = waistline(0j, 8, leaving * CLOCKWISE, SKIRT.waist / 4)
    seam = curve(waist.end, leaving, SIDE_TOP, arriving, (50, 50))
    corner, middle = complex(top, -height), complex(0, 12 - height)
    pulls = 0.6 * (SIDE_TOP.real - top), 0.65 * (height - SIDE_HEIGHT)
    armhole = curve(SIDE_TOP, arriving / CLOCKWISE, corner, toward(-94), pulls)
    edge = curve(corner, toward(176), middle, -ACROSS, (30, 30))
    fold = line(middle, waist.start)
    cut = solve(lambda t: -seam.split(t)[1].length, -FACING_SIDE, 0.1, 0.9)
    head = seam.split(cut)[1]
    centre = complex(0, -FACING_CENTRE)
    bottom = curve(centre, ACROSS, head.start, arriving * CLOCKWISE, (80, 60))
    return (
        Draft(f"bodice {side}", (waist, seam, armhole, edge, fold)),
        Draft(f"{side} facing", (bottom, head, armhole, edge, line(middle, centre))),
    )


def pocket() -> Draft:
    """Patch with a slanting, curved opening: bottom, side, opening, top, inner edge."""
    side_foot, side_top, top = 150 + 180j, 150 + 80j, 80 + 0j
    opening = curve(side_top, toward(190), top, toward(-100), (40, 45))
    return Draft(
        "pocket",
        (line(180j, side_foot), line(side_foot, side_top), opening, line(top, 0j), line(0j, 180j)),
    )


def drafts() -> list[Draft]:
    """Every piece drawn."""
    front, front_facing = bodice_and_facing("front", FRONT_TOP, FRONT_HEIGHT)
    back, back_facing = bodice_and_facing("back", BACK_TOP, BACK_HEIGHT)
    return [
        front,
        back,
        front_facing,
        back_facing,
        rectangle("waistband", SKIRT.waist / 4, WAISTBAND_DEPTH),
        pocket(),
        SKIRT.draft("skirt front"),
        SKIRT.draft("skirt back"),
        rectangle("strap", 60, 470),
    ]


def files() -> dict[str, str]:
    """The one drawing."""
    return {"pattern.svg": sheet("pinafore, size 38, stitching lines in mm", drafts())}
