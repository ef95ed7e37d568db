"""The shipped garments' seams meet, and a garment spoiled on purpose gets the one right edit."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from marker.jobfile.reading import read_job
from marker.pattern.finding import Finding
from tests.pieces.garments import GRADED, PIECES, job_of


@pytest.mark.parametrize(("garment", "size"), GRADED)
def test_a_sound_garment_has_nothing_to_mend(garment: str, size: str) -> None:
    job = job_of(garment)
    assert len(job.in_size(size).seams) >= (1 if garment == "half-circle-skirt" else 4)
    assert job.findings(size) == ()


def spoiled(folder: Path, garment: str, file: str, *changes: tuple[str, str]) -> Finding:
    """The one finding of a garment in one file of which each change is made once."""
    shutil.copytree(PIECES / garment, folder / garment)
    path = folder / garment / file
    text = path.read_text(encoding="utf-8")
    for was, becomes in changes:
        assert was in text
        text = text.replace(was, becomes, 1)
    path.write_text(text, encoding="utf-8")
    job = read_job(folder / garment / "job.toml")
    (finding,) = job.findings(job.size)
    return finding


def test_a_skirt_waist_10_mm_too_long(tmp_path: Path) -> None:
    """Its fold moved out by 5 mm: the half waist is 5 mm longer, the whole 10 mm."""
    finding = spoiled(
        tmp_path,
        "choir-dress",
        "pattern-38.svg",
        ("M 590.00 846.46", "M 585.00 846.46"),
        ("590.00 126.45 Z", "585.00 126.45 Z"),
    )
    assert (finding.code, finding.piece, finding.seam) == ("seam-length", "skirt front", "waist")
    assert finding.remedy.startswith("Shorten skirt front.waist by 10 mm, 5 mm on the half drawn")


def test_a_notch_moved_by_8_mm(tmp_path: Path) -> None:
    back = 'name = "bodice back"'
    text = (PIECES / "choir-dress" / "job.toml").read_text(encoding="utf-8")
    block = text[text.index(back) :].split("[[piece]]")[0]
    moved = block.replace('38 = "10.71 cm"', '38 = "11.51 cm"')
    finding = spoiled(tmp_path, "choir-dress", "job.toml", (block, moved))
    assert (finding.code, finding.piece, finding.seam) == (
        "seam-notch", "bodice back", "bodice side"
    )  # fmt: skip
    assert "8 mm apart" in finding.message
    assert finding.remedy.startswith("Move the notch of bodice back.side by 8 mm, to 10.7 cm")


def test_a_pair_that_is_not_mirrored(tmp_path: Path) -> None:
    finding = spoiled(tmp_path, "shirt", "job.toml", ("pair = true\n", ""))
    assert (finding.code, finding.piece) == ("one-hand", "front")
    assert "pair = true" in finding.remedy


def test_a_sleeve_with_twice_its_ease(tmp_path: Path) -> None:
    finding = spoiled(tmp_path, "shirt", "job.toml", ('ease = "10 mm"', 'ease = "20 mm"'))
    assert (finding.code, finding.seam) == ("seam-length", "armhole")
    assert "10 mm too short" in finding.message
