"""Pyjama trousers: two legs, their waist a casing for elastic.

Crotch depth is the body's rise and some ease; the front's fork is a sixteenth of the hip and the
back's an eighth (after W. Aldrich's easy-fitting trousers, from memory); the rest is common
practice, no source.
"""

from __future__ import annotations

from dataclasses import dataclass

from marker.blocks import options
from marker.blocks.body import Body
from marker.blocks.curve import ACROSS, Curve, curve, line, solve, unit
from marker.blocks.garment import Block, Draft, Garment, back_notch, front_notch, ref, seam
from marker.blocks.materials import woven
from marker.pattern.edge import Hem, HemKind, Notch
from marker.pattern.seams.sewing import Girth

_RISE_EASE_MM = 25.0
_BACK_RISE = 0.047  # of the hip, by which the centre back stands higher: room to sit
_BACK_LEAN = 0.047  # of the hip, by which it leans in at the waist
_HEM_MORE_MM = 10.0  # the back leg is wider at the hem than the mean, the front narrower


@dataclass(frozen=True)
class PyjamaOptions:
    """Options of the trousers."""

    ease: float = options.length(120, 60, 300, "around the hips")
    length: float | None = options.length(None, 250, 1300, "of the side, from waist to hem")
    hem_width: float | None = options.length(None, 200, 800, "around the hem of a leg")
    casing: float = options.length(30, 15, 60, "depth of the casing at the waist")


@dataclass(frozen=True)
class _Leg:
    """Lengths in mm; x = 0 is the centre line at the hip, y = 0 the side's waist.

    top : the centre at the waist. fork : the crotch point. side : x of the side seam.
    hem : its inner end, and its width.
    """

    name: str
    top: complex
    fork: complex
    side: complex
    hem_inner: complex
    hem_width: float

    def draft(self, casing: float, notches: tuple[Notch, ...]) -> Draft:
        """Hem, side, waist, crotch, inside leg."""
        hem_outer = self.hem_inner + self.hem_width
        edges = {
            "hem": (line(self.hem_inner, hem_outer),),
            "side": (line(hem_outer, self.side),),
            "waist": (line(self.side, self.top),),
            "crotch": self._crotch(),
            "inside leg": (self._inside(),),
        }
        hems = {
            "hem": Hem(HemKind.TURNED_TWICE, 25, 10),
            "waist": Hem(HemKind.TURNED_TWICE, casing, 10),
        }
        return Draft(self.name, edges, cut=2, pair=True, hems=hems, notches=notches)

    def _crotch(self) -> tuple[Curve, Curve]:
        """Straight down from the waist to the hip, then round to the fork."""
        down = unit(complex(0, self.fork.imag) - self.top)
        turn = self.top + (0.5 * (self.fork.imag - self.top.imag) / down.imag) * down
        left = self.fork.imag - turn.imag
        pulls = 0.75 * left, 0.55 * abs(self.fork.real)
        return line(self.top, turn), curve(turn, down, self.fork, -ACROSS, pulls)

    def _inside(self) -> Curve:
        """From the fork to the hem, a little hollow."""
        run = self.hem_inner - self.fork
        leaving = unit(run) * complex(1, -0.12)
        return curve(self.fork, leaving, self.hem_inner, 1j, (0.3 * abs(run), 0.3 * abs(run)))


def _legs(body: Body, chosen: PyjamaOptions) -> tuple[_Leg, _Leg]:
    quarter = (body.hip + chosen.ease) / 4
    crotch, hem_y = body.body_rise + _RISE_EASE_MM, chosen.length or body.waist_to_floor - 25
    width = (chosen.hem_width or 0.46 * body.hip + 20) / 2
    front_fork, back_fork = body.hip / 16 + 5, body.hip / 8 + 15
    crease = (quarter - front_fork) / 2
    front = _Leg(
        "front",
        top=10 + 8j,
        fork=complex(-front_fork, crotch),
        side=complex(quarter, 0),
        hem_inner=complex(crease - width / 2 + _HEM_MORE_MM / 2, hem_y),
        hem_width=width - _HEM_MORE_MM,
    )
    # the waist still passes the hips
    lean = min(_BACK_LEAN * body.hip, (chosen.ease - 40) / 2)
    inside = front.draft(0, ()).length("inside leg")
    hem_inner = complex(crease - width / 2 - _HEM_MORE_MM / 2, hem_y)

    def back(drop: float, side_y: float) -> _Leg:
        return _Leg(
            "back",
            top=complex(lean, -_BACK_RISE * body.hip),
            fork=complex(-back_fork, crotch + drop),
            side=complex(quarter + 5, side_y),
            hem_inner=hem_inner,
            hem_width=width + _HEM_MORE_MM,
        )

    # the back's fork drops, and its side ends, where both seams are as long as the front's
    drop = -solve(lambda up: back(-up, 0).draft(0, ()).length("inside leg"), inside, -120, 60)
    outside = front.draft(0, ()).length("side")
    up = solve(lambda up: back(drop, -up).draft(0, ()).length("side"), outside, -60, 60)
    return front, back(drop, -up)


def _block(body: Body, chosen: PyjamaOptions) -> Block:
    front, back = _legs(body, chosen)
    side = front.draft(0, ()).length("side")
    knee = (
        Notch("side", side / 2),
        Notch("inside leg", front.draft(0, ()).length("inside leg") / 2),
    )
    drafts = tuple(
        leg.draft(chosen.casing, (*knee, *notch("crotch", 150)))
        for leg, notch in ((front, front_notch), (back, back_notch))
    )
    return Block(
        pieces=drafts,
        cloths=(woven("flannel"),),
        girths=(
            Girth("waist over the hips", (ref("front.waist"), ref("back.waist")) * 2, body.hip),
        ),
        seams=(
            seam("side", "front.side", "back.side"),
            seam("inside leg", "front.inside leg", "back.inside leg"),
            seam("centre front", "front.crotch", "front.crotch"),
            seam("centre back", "back.crotch", "back.crotch"),
        ),
        notes={"waist over the hips": f"elastic in the casing: {0.9 * body.waist / 10:.0f} cm"},
    )


PYJAMA_TROUSERS = Garment(
    name="pyjama trousers",
    says="Wide woven trousers, pulled on, with elastic in a casing at the waist.",
    method=(
        "forks of a sixteenth and an eighth of the hip (after Aldrich's easy-fitting trousers, "
        "from memory); the rest common practice, no source"
    ),
    measures=("hip", "waist", "body_rise", "waist_to_floor"),
    options=PyjamaOptions,
    block=_block,
)
