"""Whether the cloth stretches as far, and the way, that the garment needs."""

from __future__ import annotations

from dataclasses import replace

import pytest

from marker.cloth.behaviour import Direction, Gauge
from marker.job import Job
from marker.pattern.bands.stretch_findings import around_body, stretch_findings
from marker.pattern.bands.strip import ByRatio, Strip
from marker.pattern.edge import EdgeRef
from marker.pattern.finding import Finding
from marker.pattern.seams.sewing import Girth
from tests.pattern.bands.openings import JERSEY, neckline, round_neck

WAIST = (EdgeRef("front", "waist"), EdgeRef("back", "waist"))  # 2 × 800 around
NECK = Strip("neck binding", "jersey", 50.8, ByRatio(0.85), finishes="neckline")


def girth(body_mm: float) -> Job:
    return round_neck(girths=(Girth("waist", WAIST, body_mm),))


def found(job: Job) -> tuple[Finding, ...]:
    return stretch_findings(job.pattern, job.strip_plans(job.size), job.cloths)


def codes(job: Job) -> list[str]:
    return [finding.code for finding in found(job)]


@pytest.mark.parametrize(("body", "said"), [(1500, []), (2399, []), (2401, ["girth-too-small"])])
def test_a_girth_reaches_as_far_as_the_cloth_stretches(body: float, said: list[str]) -> None:
    """1600 mm at 50 % reach 2400 mm (arithmetic)."""
    assert codes(girth(body)) == said


def test_a_cloth_that_was_not_measured_does_not_stretch() -> None:
    job = replace(girth(1601), cloths=(replace(JERSEY, gauge=None),))
    (finding,) = found(job)
    assert finding.code == "girth-too-small"
    assert "a stretch of 0.1 %" in finding.message


def test_greatest_stretch_along_the_length_is_one_finding() -> None:
    job = girth(2300)
    (finding,) = found(job.with_pieces(lambda piece: replace(piece, grain_deg=0.0)))
    assert (finding.code, finding.piece) == ("greatest-stretch-not-around-body", "front, back")
    assert "most along the crossgrain" in finding.message
    assert codes(job) == []


def test_a_cloth_that_stretches_most_along_its_length_is_laid_the_other_way() -> None:
    along = Gauge({Direction.LENGTHGRAIN: 150, Direction.CROSSGRAIN: 110}, 100)
    job = replace(girth(1700), cloths=(replace(JERSEY, gauge=along),))
    assert codes(job) == ["greatest-stretch-not-around-body"]
    assert codes(job.with_pieces(lambda piece: replace(piece, grain_deg=180.0))) == []


@pytest.mark.parametrize(
    ("edge", "grain", "direction"),
    [
        ("waist", 90, Direction.CROSSGRAIN),
        ("neck", 90, Direction.CROSSGRAIN),
        ("waist", 0, Direction.LENGTHGRAIN),
        ("neck", 170, Direction.LENGTHGRAIN),
        ("side", 90, Direction.LENGTHGRAIN),
        ("shoulder", 100, Direction.CROSSGRAIN),
    ],
)
def test_direction_around_the_body(edge: str, grain: float, direction: Direction) -> None:
    front = replace(round_neck().pattern.pieces[0], grain_deg=grain)
    assert around_body(front, edge) is direction


@pytest.mark.parametrize(
    ("head", "said"),
    [
        (570, ""),
        (628 * 0.85 * 1.5 - 2, ""),
        (628 * 0.85 * 1.5 + 2, "neck binding"),
    ],
)
def test_over_the_head(head: float, said: str) -> None:
    """Finished opening × (1 + stretch): a neck of radius 100 is 628 around, its band 0.85 of that,
    and the knit gives 50 % (geometry)."""
    job = round_neck(NECK, opening=neckline(passes_mm=head))
    assert [(finding.code, finding.piece) for finding in found(job)] == (
        [("opening-too-small", said)] if said else []
    )


def test_a_band_that_stretches_further_than_its_opening_does_not_help() -> None:
    rib = replace(JERSEY, name="rib", gauge=Gauge({Direction.CROSSGRAIN: 200}, 100))
    woven = replace(JERSEY, gauge=None)
    job = round_neck(replace(NECK, cloth="rib"), opening=neckline(passes_mm=650))
    (finding,) = found(replace(job, cloths=(woven, rib)))
    assert (finding.code, finding.piece, finding.seam) == ("opening-too-small", "", "neckline")


def test_the_stretch_that_the_pattern_asks_for() -> None:
    asking = replace(JERSEY, needed_stretch=0.5)
    assert codes(round_neck(cloth=asking)) == []
    (finding,) = found(round_neck(cloth=replace(JERSEY, needed_stretch=0.6)))
    assert (finding.code, "by 60 %" in finding.message) == ("cloth-stretches-too-little", True)
    assert "gives 50 % along the crossgrain" in finding.message
    unmeasured = replace(JERSEY, needed_stretch=0.1, gauge=None)
    assert codes(round_neck(cloth=unmeasured)) == ["cloth-stretches-too-little"]
