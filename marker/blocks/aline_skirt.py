"""An A-line skirt with waist darts, a straight waistband and a zip at the left side.

What the hips have more than the waist is taken in at the side and in darts (after W. Aldrich's
tailored skirt, from memory); how it is shared is common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from marker.blocks import options
from marker.blocks.bands import waist_opening, waistband
from marker.blocks.body import Body, down_to_hem
from marker.blocks.cloths import FUSIBLE, fusible, woven
from marker.blocks.draft import Block, Draft, seam
from marker.blocks.garment import Garment
from marker.blocks.skirt_panel import SkirtPanel
from marker.pattern.edge import Hem, HemKind, Notch
from marker.pattern.fullness import Dart

_AT_SIDE = 0.45  # of the difference, taken in at the side
_MORE_AT_BACK_MM = 10.0  # the back's quarter of the hips, and what its darts take in, is larger
_LEAST_DART_MM = 15.0  # less is taken in at the side
_WIDEST_DART_MM = 30.0  # more is shared by two
_TO_KNEE = 0.575  # of the way from waist to floor
_FRONT_DEPTH, _BACK_DEPTH = 0.45, 0.65  # of the way to the hips


@dataclass(frozen=True)
class ALineOptions:
    """Options of the A-line skirt."""

    length: float | None = options.length(None, 300, 1200, "from the waist seam to the hem")
    flare: float = options.degrees(6, 0, 20, "that the side leans out below the hips")
    ease: float = options.length(10, 0, 60, "of the waist seam beyond the body")
    hip_ease: float = options.length(30, 20, 150, "around the hips")
    band: float = options.length(35, 15, 80, "finished depth of the waistband")
    zip: float = options.length(200, 120, 300, "length left open below the waist, left side")


def _block(body: Body, chosen: ALineOptions) -> Block:
    waist, hip = body.waist + chosen.ease, max(body.hip + chosen.hip_ease, body.waist)
    more = (hip - waist) / 4
    in_darts = (1 - _AT_SIDE) * more
    length = chosen.length or down_to_hem(body, _TO_KNEE)
    shift = _MORE_AT_BACK_MM
    if in_darts - shift < _LEAST_DART_MM:
        in_darts = shift = 0.0
    pieces = tuple(
        _panel(
            SkirtPanel(
                waist + 4 * (in_darts + more_there),
                hip + 4 * more_there,
                length,
                body.waist_to_hip,
                chosen.flare,
            ),
            f"skirt {side}",
            Dart("waist", 0.0, in_darts + more_there, depth_mm=depth * body.waist_to_hip),
            min(chosen.zip, length / 2),
        )
        for side, more_there, depth in (
            ("front", -shift, _FRONT_DEPTH),
            ("back", shift, _BACK_DEPTH),
        )
    )
    return Block(
        pieces=pieces,
        cloths=(woven("wool gabardine"), fusible()),
        strips=(waistband(chosen.band, FUSIBLE),),
        openings=(waist_opening("skirt front.waist", "skirt back.waist"),),
        seams=(seam("side", "skirt front.side", "skirt back.side"),),
        notes={"side": "the upper notches end the zip at the left side"},
    )


def _panel(panel: SkirtPanel, name: str, darts: Dart, zip_mm: float) -> Draft:
    """The panel; darts : all that it takes in, as one."""
    draft = panel.draft(name, hems={"hem": Hem(HemKind.TURNED_ONCE, 40, 0)})
    hip, foot = panel.hip_at_mm(draft), draft.length("side") - zip_mm
    # a zip that ends at the hips needs no second notch there
    at = [foot] if abs(hip - foot) < 25 else sorted((hip, foot))
    notches = tuple(Notch("side", each) for each in at)
    return replace(draft, notches=notches, fullness=tuple(_shared_out(darts, draft)))


def _shared_out(darts: Dart, draft: Draft) -> Iterator[Dart]:
    """One dart or two, evenly spaced along the waist, which runs from the side to the centre."""
    intake = darts.drawn_mm
    count = 0 if intake == 0 else 1 if intake <= _WIDEST_DART_MM else 2
    for k in range(count):
        middle = draft.length("waist") * (k + 1) / (count + 1)
        half = intake / count / 2
        yield replace(darts, start_mm=middle - half, end_mm=middle + half)


A_LINE_SKIRT = Garment(
    name="a-line skirt",
    says="A skirt shaped by darts, a little wider at the hem, with a straight waistband and a zip.",
    method=(
        "the hips' quarter, less what side and darts take in (after Aldrich's tailored skirt, from "
        "memory); how that is shared is common practice, no source"
    ),
    measures=("waist", "hip", "waist_to_hip", "waist_to_floor"),
    options=ALineOptions,
    block=_block,
)
