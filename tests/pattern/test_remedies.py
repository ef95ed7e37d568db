"""Every remedy, applied to the job as it is worded, makes its finding go."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace

import numpy as np
import pytest

from marker.cloth.behaviour import Direction, Gauge
from marker.cloth.fabric import Cloth, Nap
from marker.job import Job
from marker.pattern.bands.strip import ByRatio, Fold, ShorterBy, Strip
from marker.pattern.edge import Edge, EdgeRef, Notch, Stretch
from marker.pattern.finding import Finding, FindingCode
from marker.pattern.fullness import Dart
from marker.pattern.pattern import Pattern
from marker.pattern.piece import Line, Piece
from marker.pattern.seams.sewing import Girth, Opening, Seam, Side
from marker.units import parse_length
from tests.pattern.bands.openings import JERSEY, SHOULDERS, neckline, round_neck
from tests.shapes import polygon, rectangle

GAIN = 4 * 25.4
NECK = Strip(
    "neck binding", "jersey", 50.8, ByRatio(0.85), finishes="neckline", fold=Fold.DOUBLE,
    finished_mm=12.7, unstretched=SHOULDERS,
)  # fmt: skip
Apply = Callable[[Job, str], Job]


@dataclass(frozen=True)
class Case:
    """A job with a finding, and what a person does who follows one part of its remedy."""

    code: FindingCode
    job: Job
    apply: Apply


def length(text: str, pattern: str) -> float:
    """The length that a remedy names after some words."""
    found = re.search(pattern + r" (-?[\d.]+ (?:mm|cm|m))", text)
    assert found, text
    return parse_length(found[1])


def number(text: str, pattern: str) -> float:
    found = re.search(pattern + r" ([\d.]+)", text)
    assert found, text
    return float(found[1])


def with_strip(job: Job, **changes: object) -> Job:
    return job.with_strips(lambda strip: replace(strip, **changes))  # type: ignore[arg-type]


def stretching(job: Job, text: str) -> Job:
    """On a cloth that stretches as far as the remedy asks, both ways."""
    share = number(text, "stretches by") / 100
    gauge = Gauge(dict.fromkeys(Direction, GAIN * (1 + share)))
    return replace(job, cloths=tuple(replace(cloth, gauge=gauge) for cloth in job.cloths))


def knit(percent: float) -> Cloth:
    return replace(JERSEY, gauge=Gauge({Direction.CROSSGRAIN: GAIN * (1 + percent / 100)}))


def sewn(seam: Seam, *pieces: Piece) -> Job:
    return Job("skirt", "38", (Pattern("38", pieces, seams=(seam,)),), (JERSEY,), {"38": 1})


def wrapped(*edges: str) -> Job:
    """A wrap top: both fronts are sewn to the shoulders of a back on the fold. Its neck runs up one
    front, around the back, and down the other."""
    front = Piece(
        "front", "jersey", polygon((0, 0), (300, 0), (300, 400), (200, 400)), line=Line.STITCHING,
        edges={"shoulder": Edge(2, 3), "neck": Edge(3, 0)}, cut=2, pair=True,
    )  # fmt: skip
    back = replace(
        front, name="back", outline=polygon((0, 0), (200, 0), (200, 400), (100, 400), (0, 390)),
        edges={"shoulder": Edge(2, 3), "neck": Edge(3, 4)}, fold=Stretch(4, 0), cut=1, pair=False,
    )  # fmt: skip
    sides = (Side(refs((edge,))) for edge in ("front.shoulder", "back.shoulder"))
    opening = Opening("neck", refs(edges or ("front.neck", "back.neck", "front.neck")), False)
    job = sewn(Seam("shoulder", tuple(sides)), front, back)
    return job.with_patterns(lambda each: replace(each, openings=(opening,)))


def refs(edges: Iterable[str]) -> tuple[EdgeRef, ...]:
    split = (edge.removesuffix(" reversed") for edge in edges)
    parts = (each.partition(".") for each in split)
    return tuple(
        EdgeRef(piece, name, edge.endswith(" reversed"))
        for (piece, _, name), edge in zip(parts, edges, strict=True)
    )


def listed_so(job: Job, text: str) -> Job:
    edges = refs(re.findall(r'"([^"]+)"', text))
    return job.with_patterns(
        lambda each: replace(each, openings=(replace(each.openings[0], edges=edges),))
    )


def panel(name: str, wide: float, *notches: Notch, fold: bool = False) -> Piece:
    return Piece(
        name, "jersey", rectangle(wide, 300), line=Line.STITCHING, notches=notches,
        edges={"top": Edge(2, 3)}, fold=Stretch(3, 0) if fold else None,
    )  # fmt: skip


def small(name: str, long: float) -> Piece:
    return replace(panel(name, long), outline=rectangle(long, 30))


def seam(*sides: tuple[str, ...], tolerance: float = 2.0) -> Seam:
    made = (Side(tuple(EdgeRef(text[0], "top") for text in side)) for side in sides)
    return Seam("waist", tuple(made), tolerance)


def edited(job: Job, text: str) -> Job:
    """Each piece wider or narrower by what the remedy says of its edge, half of it if half is
    drawn."""
    for verb, name, said, half in re.findall(
        r"(shorten|lengthen) (\w+)\.top by ([\d.]+ [cm]+)(?:, ([\d.]+ [cm]+) on the half drawn)?",
        text.lower(),
    ):
        by = parse_length(half or said) * (1 if verb == "lengthen" else -1)

        def wider(piece: Piece, name: str = name, by: float = by) -> Piece:
            if piece.name != name:
                return piece
            return replace(piece, outline=piece.outline + np.where(piece.outline > 0, [by, 0], 0))

        job = job.with_pieces(wider)
    return job


def with_notch_moved(job: Job, text: str) -> Job:
    name = re.search(r"notch of (\w+)\.", text)
    assert name
    at = length(text, "to")

    def moved(piece: Piece) -> Piece:
        if piece.name != name[1]:
            return piece
        return replace(piece, notches=(replace(piece.notches[0], at_mm=at),))

    return job.with_pieces(moved)


def wider_waist(job: Job, text: str) -> Job:
    """Front and back are 400 mm on the half: all four halves of the waist share what is asked."""
    more = length(text, "Make it") / 4
    return job.with_pieces(
        lambda piece: replace(
            piece, outline=piece.outline + np.where(piece.outline[:, :1] > 300, [[more, 0]], 0)
        )
    )


def longer_band(job: Job, text: str) -> Job:
    (plan,) = job.strip_plans("38")
    assert plan.band is not None
    less = plan.band.opening.length_mm - plan.band.seam_mm - length(text, "Make neck binding")
    return with_strip(job, length=ShorterBy(less))


def listed(text: str) -> tuple[str, ...]:
    found = re.search(r"joins_clear_of = \[(.*?)\]", text)
    assert found, text
    return tuple(re.findall(r'"(.*?)"', found[1]))


def tip_moved(job: Job, text: str) -> Job:
    tip = np.array([parse_length(each) for each in re.findall(r'"(-?[\d.]+ mm)"', text)])

    def moved(piece: Piece) -> Piece:
        (dart,) = piece.fullness
        assert isinstance(dart, Dart)
        return replace(piece, fullness=(replace(dart, tip=tip),))

    return job.with_pieces(moved)


def darted() -> Job:
    dart = Dart("top", 100, 130, tip=np.array([150.0, 180.0]))
    piece = replace(panel("skirt", 300), fullness=(dart,))
    return Job("skirt", "38", (Pattern("38", (piece,)),), (JERSEY,), {"38": 1})


def napped() -> Job:
    skirt = replace(panel("skirt", 300), grain_deg=270.0, top_assumed=True)
    pattern = Pattern("38", (skirt, panel("pocket", 150)))
    return Job("skirt", "38", (pattern,), (replace(JERSEY, nap=Nap.ONE_WAY),), {"38": 1})


def sleeve() -> Job:
    piece = Piece("sleeve", "jersey", polygon((0, 0), (300, 0), (280, 400), (60, 420)), cut=2)
    return Job("shirt", "38", (Pattern("38", (piece,)),), (JERSEY,), {"38": 1})


def crowded_neck() -> Job:
    """Joined from four parts, as wide as a quarter of it: some join meets a point anywhere."""
    points = neckline().points
    narrow = replace(JERSEY, width_mm=90)
    band = replace(NECK, unstretched=(), joins_clear_of=tuple(points))
    return round_neck(band, cloth=narrow)


WAIST = Girth("waist", (EdgeRef("front", "waist"), EdgeRef("back", "waist")), 2416.3)
HEAD = neckline(passes_mm=815.7)

CASES = {
    "one hand": Case(
        FindingCode.ONE_HAND, sleeve(),
        lambda job, _: job.with_pieces(lambda piece: replace(piece, pair=True)),
    ),
    "dart": Case(FindingCode.DART_LEGS, darted(), tip_moved),
    "seam": Case(
        FindingCode.SEAM_LENGTH,
        sewn(seam(("a.top",), ("b.top",)), panel("a", 300), panel("b", 307.13)),
        edited,
    ),
    "seam of many parts, without tolerance to speak of": Case(
        FindingCode.SEAM_LENGTH,
        sewn(
            seam(("a.top",), ("b.top", "c.top", "d.top"), tolerance=0.3),
            panel("a", 300), panel("b", 290.4), panel("c", 5), panel("d", 5),
        ),
        edited,
    ),
    "seam on the fold": Case(
        FindingCode.SEAM_LENGTH,
        sewn(seam(("a.top",), ("b.top",)), panel("a", 300, fold=True), panel("b", 587.77)),
        edited,
    ),
    "joint": Case(
        FindingCode.SEAM_JOINT,
        sewn(
            seam(("a.top", "b.top"), ("c.top", "d.top")),
            panel("a", 300), panel("b", 100), panel("c", 292.3), panel("d", 107.7),
        ),
        edited,
    ),
    "notch": Case(
        FindingCode.SEAM_NOTCH,
        sewn(
            seam(("a.top",), ("b.top",)),
            panel("a", 1600, Notch("top", 1234.5)), panel("b", 1600, Notch("top", 1263.2)),
        ),
        with_notch_moved,
    ),
    "notch without a partner": Case(
        FindingCode.SEAM_NOTCH,
        sewn(
            seam(("a.top",), ("b.top",)),
            panel("a", 300, Notch("top", 50), Notch("top", 150)), panel("b", 300, Notch("top", 50)),
        ),
        lambda job, _: job.with_pieces(lambda piece: replace(piece, notches=piece.notches[:1])),
    ),
    "no allowance": Case(
        FindingCode.NO_ALLOWANCE,
        sewn(
            seam(("a.top",), ("b.top",)),
            panel("a", 300), replace(panel("b", 300), allowance_mm=10),
        ),
        lambda job, text: job.with_pieces(
            lambda piece: replace(piece, allowance_mm=length(text.replace('"', ""), "allowance ="))
        ),
    ),
    "allowance in the wrong unit": Case(
        FindingCode.WIDE_ALLOWANCE,
        sewn(
            seam(("a.top",), ("b.top",)),
            replace(panel("a", 300), allowance_mm=100.1),
            replace(panel("b", 300), allowance_mm=100.0),
        ),
        lambda job, text: job.with_pieces(
            lambda piece: replace(piece, allowance_mm=length(text, "seams take"))
        ),
    ),
    "drawn at a scale of 1 : 10": Case(
        FindingCode.DRAWN_SMALL,
        sewn(seam(("a.top",), ("b.top",)), small("a", 60), small("b", 60)),
        lambda job, _: job.with_pieces(lambda piece: replace(piece, outline=10 * piece.outline)),
    ),
    "opening walked the wrong way": Case(FindingCode.OPENING_ORDER, wrapped(), listed_so),
    "opening out of order": Case(
        FindingCode.OPENING_ORDER, wrapped("back.neck", "front.neck reversed", "front.neck"),
        listed_so,
    ),
    "stretched too far": Case(
        FindingCode.STRETCH_BEYOND_CLOTH,
        round_neck(replace(NECK, length=ByRatio(0.6), fold=None, finished_mm=None), cloth=knit(25)),
        lambda job, text: with_strip(job, length=ByRatio(number(text, "at least"))),
    ),
    "stretched too far, other cloth": Case(
        FindingCode.STRETCH_BEYOND_CLOTH,
        round_neck(replace(NECK, length=ByRatio(0.61), fold=None, finished_mm=None), cloth=knit(9)),
        stretching,
    ),
    "ripples": Case(
        FindingCode.BAND_RIPPLES, round_neck(replace(NECK, length=ByRatio(0.983))),
        lambda job, text: with_strip(job, length=ByRatio(number(text, "at most"))),
    ),
    "ripples, narrower": Case(
        FindingCode.BAND_RIPPLES, round_neck(replace(NECK, length=ByRatio(0.983))),
        lambda job, text: with_strip(job, finished_mm=length(text, "finish it at most")),
    ),
    "join at the front": Case(
        FindingCode.JOIN_NEAR_POINT, round_neck(replace(NECK, join_at="centre front")),
        lambda job, text: with_strip(job, join_at=text.split("'")[1]),
    ),
    "join anywhere": Case(
        FindingCode.JOIN_NEAR_POINT, crowded_neck(),
        lambda job, text: with_strip(job, joins_clear_of=listed(text)),
    ),
    "girth": Case(FindingCode.GIRTH_TOO_SMALL, round_neck(girths=(WAIST,)), wider_waist),
    "girth, other cloth": Case(
        FindingCode.GIRTH_TOO_SMALL, round_neck(girths=(WAIST,)), stretching
    ),
    "head": Case(FindingCode.OPENING_TOO_SMALL, round_neck(NECK, opening=HEAD), longer_band),
    "head, other cloth": Case(
        FindingCode.OPENING_TOO_SMALL, round_neck(NECK, opening=HEAD), stretching
    ),
    "head, open": Case(
        FindingCode.OPENING_TOO_SMALL, round_neck(NECK, opening=HEAD),
        lambda job, _: job.with_patterns(
            lambda each: replace(each, openings=(replace(each.openings[0], passes_mm=None),))
        ),
    ),
    "laid wrong": Case(
        FindingCode.GREATEST_STRETCH_NOT_AROUND_BODY,
        round_neck(girths=(replace(WAIST, body_mm=1500),)).with_pieces(
            lambda piece: replace(piece, grain_deg=0.0)
        ),
        lambda job, _: job.with_pieces(
            lambda piece: replace(piece, grain_deg=piece.grain_deg + 90)
        ),
    ),
    "top": Case(
        FindingCode.TOP_ASSUMED, napped(),
        lambda job, text: job.with_pieces(
            lambda piece: replace(piece, grain_deg=number(text, "grain ="), top_assumed=False)
        ),
    ),
    "too stiff": Case(
        FindingCode.CLOTH_STRETCHES_TOO_LITTLE,
        round_neck(cloth=replace(JERSEY, needed_stretch=0.6137)), stretching,
    ),
}  # fmt: skip


def of_code(job: Job, code: FindingCode) -> list[Finding]:
    return [finding for finding in job.findings("38") if finding.code is code]


@pytest.mark.parametrize("name", CASES)
def test_a_remedy_applied_makes_its_finding_go(name: str) -> None:
    case = CASES[name]
    (finding,) = of_code(case.job, case.code)
    after = case.apply(case.job, finding.remedy)
    assert of_code(after, case.code) == [], finding.remedy


def test_every_remedy_there_is_was_applied() -> None:
    assert {case.code for case in CASES.values()} == set(FindingCode)


def test_what_is_asked_for_is_no_more_than_it_takes() -> None:
    """A waist of 1600 mm at 50 % reaches 2400 where 2416.3 are needed: 16.3 ÷ 1.5 = 10.87 mm. A
    band of 534.1 mm reaches 801.1 where 815.7 must pass: 14.6 ÷ 1.5 = 9.7 mm (arithmetic)."""
    (girth,) = of_code(CASES["girth"].job, FindingCode.GIRTH_TOO_SMALL)
    assert "Make it 10.9 mm longer" in girth.remedy
    (head,) = of_code(CASES["head"].job, FindingCode.OPENING_TOO_SMALL)
    assert length(head.remedy, "Make neck binding") == pytest.approx(
        815.7 / 1.5 - 0.85 * 200 * np.pi, abs=0.12
    )


def test_one_piece_of_a_usual_size_shows_the_scale() -> None:
    waist = seam(("a.top",), ("b.top",))
    assert of_code(sewn(waist, small("a", 150), small("b", 60)), FindingCode.DRAWN_SMALL)
    assert not of_code(sewn(waist, small("a", 150.1), small("b", 60)), FindingCode.DRAWN_SMALL)
