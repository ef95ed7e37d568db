"""Bands that cannot be sewn well get one finding, sound ones none."""

from __future__ import annotations

from dataclasses import replace

import pytest

from marker.cloth.behaviour import Direction, Gauge
from marker.cloth.fabric import Cloth
from marker.pattern.bands.band_findings import bands_findings
from marker.pattern.bands.strip import ByRatio, CutLength, Fold, LiesFlat, Strip
from marker.pattern.bands.strip_plan import strip_plans
from marker.pattern.finding import Finding
from marker.units import metric
from tests.pattern.bands.openings import JERSEY, SHOULDERS, round_neck

NECK = Strip(
    "neck binding", "jersey", 50.8, ByRatio(0.85), finishes="neckline",
    fold=Fold.DOUBLE, finished_mm=12.7, unstretched=SHOULDERS,
)  # fmt: skip


def knit(percent: float) -> Cloth:
    reading = 4 * 25.4 * (1 + percent / 100)
    return replace(JERSEY, gauge=Gauge({Direction.CROSSGRAIN: reading}))


def found(strip: Strip, cloth: Cloth = JERSEY) -> tuple[Finding, ...]:
    return bands_findings(round_neck(strip, cloth=cloth).strip_plans("38"))


@pytest.mark.parametrize("ratio", [0.80, 0.85, 0.90])
def test_a_sound_band_has_no_finding(ratio: float) -> None:
    """Around the starting ratio of jersey neckbands, 0.85 (common practice, no source)."""
    assert found(replace(NECK, length=ByRatio(ratio))) == ()


def test_a_neckband_of_0_6_on_a_knit_of_25_percent() -> None:
    (finding,) = found(replace(NECK, length=ByRatio(0.6)), knit(25))
    assert (finding.code, finding.severity) == ("stretch-beyond-cloth", "error")
    assert (finding.piece, finding.seam, finding.size) == ("neck binding", "neckline", "38")
    assert "gives 25 % along the crossgrain" in finding.message


@pytest.mark.parametrize("unstretched", [(), SHOULDERS])
def test_the_remedy_helps_and_no_less_would(unstretched: tuple[tuple[str, str], ...]) -> None:
    strip = replace(NECK, length=ByRatio(0.6), unstretched=unstretched, fold=None, finished_mm=None)
    (finding,) = found(strip, knit(25))
    least = float(finding.remedy.split("at least ")[1].split(" ")[0])
    assert found(replace(strip, length=ByRatio(least + 0.001)), knit(25)) == ()
    assert found(replace(strip, length=ByRatio(least - 0.001)), knit(25)) != ()
    if not unstretched:
        assert least == pytest.approx(1 / 1.25, abs=5e-4)  # stretch needed: 1/ratio - 1 (geometry)


def test_local_stretch_counts_not_that_over_all() -> None:
    """Over all 1/0.85 - 1 = 17.6 %; what is not stretched over the shoulders comes on top."""
    assert found(replace(NECK, unstretched=()), knit(18)) == ()
    assert [finding.code for finding in found(NECK, knit(18))] == ["stretch-beyond-cloth"]


def test_stretch_is_not_judged_on_a_cloth_that_was_not_measured() -> None:
    assert found(replace(NECK, length=ByRatio(0.6)), replace(JERSEY, gauge=None)) == ()


def test_a_band_as_long_as_a_round_opening_ripples() -> None:
    (finding,) = found(replace(NECK, length=ByRatio(1.0)))
    assert (finding.code, finding.severity) == ("band-ripples", "warning")
    most = float(finding.remedy.split("at most ")[1].split(" ")[0])
    assert found(replace(NECK, length=ByRatio(most - 0.001))) == ()
    assert found(replace(NECK, length=ByRatio(most + 0.001))) != ()


def test_every_zone_that_ripples_is_named_the_worst_first() -> None:
    """Joined at the back, the band is stretched over the front and over both halves of the back,
    which are half as long. On a circle what is too much goes by the length (geometry)."""
    strip = replace(NECK, length=ByRatio(1.0))
    (plan,) = strip_plans(round_neck(strip).pattern, [JERSEY])
    assert plan.band is not None
    right, front, left = (section for section in plan.band.sections if section.stretched)
    (finding,) = found(strip)
    at = [finding.message.find(f"from {metric(plan.seam_start_mm + section.band_start_mm)} to")
          for section in (front, right, left)]  # fmt: skip
    assert min(at) > 0
    assert min(at) == at[0]


def test_a_narrower_band_need_not_be_as_short() -> None:
    wide = replace(NECK, length=ByRatio(0.95), unstretched=())
    assert [finding.code for finding in found(wide)] == ["band-ripples"]
    assert found(replace(wide, width_mm=20, finished_mm=5)) == ()


def test_a_band_cut_to_lie_flat_has_no_finding_even_where_nothing_can_be_eased_in() -> None:
    stiff = replace(JERSEY, eases_in=0.0)
    assert found(replace(NECK, length=LiesFlat(), unstretched=()), stiff) == ()


def test_a_join_at_the_centre_front() -> None:
    (finding,) = found(replace(NECK, join_at="centre front"))
    assert (finding.code, finding.severity) == ("join-near-point", "warning")
    assert found(replace(NECK, join_at="centre back")) == ()


def test_a_strip_that_finishes_nothing_has_no_finding() -> None:
    assert found(Strip("belt", "jersey", 50, CutLength(900))) == ()
