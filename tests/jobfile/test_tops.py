"""Every piece has a top: on a cloth with a nap no two lie opposed in silence."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from marker.pattern.finding import FindingCode
from tests.jobfile.writer import HEAD, job, piece

NAPPED = HEAD.replace('"150 cm"', '"150 cm", nap = "one way"')
SECTOR = (
    'shape = { kind = "ring sector", inner_radius = 200, outer_radius = 700, angle = 90 }',
    "edges = { waist = [4, 1] }",
)
POCKET = piece("points = [[0, 0], [150, 0], [150, 180], [0, 180]]", name="pocket")


def test_a_circle_skirt_hangs_from_its_inner_arc(tmp_path: Path) -> None:
    """Laid unturned, the top of every piece lies towards +x: the waist of the skirt as well as the
    upper edge of the pocket."""
    made = job(tmp_path, NAPPED + piece(*SECTOR, name="skirt") + POCKET)
    skirt, pocket = made.cut_pieces(made.cloths[0])
    assert made.pattern.pieces[0].grain_deg == 270
    middle = skirt.outline.mean(axis=0)
    inner = skirt.outline[np.hypot(*(skirt.outline - skirt.outline.max(axis=0)).T) < 300]
    assert inner[:, 0].mean() > middle[0]
    assert pocket.outline[:, 0].max() == pytest.approx(180)


def test_where_the_top_was_assumed_it_is_asked(tmp_path: Path) -> None:
    made = job(tmp_path, NAPPED + piece(*SECTOR, name="skirt") + POCKET)
    (finding,) = made.findings("38")
    assert finding.code is FindingCode.TOP_ASSUMED
    assert "nobody said where the top of skirt is" in finding.message
    assert finding.remedy == "Say grain = 270 for skirt if that is so, or turn it by 180"


@pytest.mark.parametrize(
    "text",
    [
        NAPPED + piece(*SECTOR, "grain = 270", name="skirt") + POCKET,
        NAPPED + piece(*SECTOR, name="skirt"),
        HEAD + piece(*SECTOR, name="skirt") + POCKET,
    ],
)
def test_nobody_is_asked_where_it_does_not_matter(text: str, tmp_path: Path) -> None:
    """Where the top is given, nothing else lies on the cloth, or the cloth has no nap."""
    assert job(tmp_path, text).findings("38") == ()
