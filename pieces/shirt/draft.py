"""Shirt: that of `marker.blocks`. Size 38 is the sample and the one drawn.

The other sizes are drafted too, and the grade rules, how each corner moves from size to size, are
read off the drafts.
"""

from __future__ import annotations

from marker.blocks.body import Body
from marker.blocks.catalogue import GARMENTS
from marker.blocks.garment import Draft
from marker.exchange.svg.drafted import draft_text

SIZES, SAMPLE = ("36", "38", "40", "42", "44"), "38"

# grade rule -> piece and corner that it is read off; corners of other pieces may move by it too
RULES = {
    "held": ("sleeve", 4),
    "hem": ("back", 1),
    "hip": ("back", 2),
    "waist": ("back", 3),
    "underarm": ("back", 4),
    "shoulder": ("front", 5),
    "neck point": ("front", 6),
    "front neck": ("front", 7),
    "yoke end": ("back", 5),
    "back wrist": ("sleeve", 1),
    "front wrist": ("sleeve", 2),
    "front cap": ("sleeve", 3),
    "back cap": ("sleeve", 5),
    "band foot": ("front band", 1),
    "collar end": ("collar", 2),
    "cuff end": ("cuff", 6),
}


def drafts(size: str = SAMPLE) -> tuple[Draft, ...]:
    """Every piece in a size."""
    drafted = GARMENTS["shirt"].drafted({size: Body.of_size(size)}, size, {})
    return drafted.sizes[size].pieces


def grade_rules() -> str:
    """The grade rules as a file: by how much each point lies away from where size 38 has it."""
    corners = {
        size: {draft.name: [line.start for line in draft.outline] for draft in drafts(size)}
        for size in SIZES
    }
    lines = [
        "# Grade rules of the shirt, read off its drafts: size = [dx, dy] from size 38,",
        "# x away from the centre, y up the body.",
        'units = "mm"',
    ]
    for rule, (piece, corner) in RULES.items():
        lines += ["", f'[rules."{rule}"]']
        at_sample = corners[SAMPLE][piece][corner - 1]
        for size in SIZES:
            move = corners[size][piece][corner - 1] - at_sample
            if size != SAMPLE:
                lines.append(f"{size} = [{move.real + 0.0:.2f}, {0.0 - move.imag:.2f}]")
    return "\n".join([*lines, ""])


def files() -> dict[str, str]:
    """The sample size's drawing, and the rules that grade it."""
    heading = f"shirt, size {SAMPLE}, stitching lines in mm"
    return {"pattern.svg": draft_text(heading, drafts()), "rules.toml": grade_rules()}
