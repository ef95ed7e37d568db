"""`marker check`: the seam report and its findings, for a person and as JSON."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest

from tests.cli.commands import marker

DRESS = Path(__file__).parents[2] / "pieces" / "choir-dress"


@pytest.fixture
def too_long(tmp_path: Path) -> Path:
    """The choir dress with 5 mm too much at the skirt front's fold."""
    shutil.copytree(DRESS, tmp_path / "dress")
    path = tmp_path / "dress" / "pattern-38.svg"
    text = path.read_text(encoding="utf-8")
    text = text.replace("M 590.00 846.46", "M 585.00 846.46")
    path.write_text(text.replace("590.00 126.45 Z", "585.00 126.45 Z"), encoding="utf-8")
    return tmp_path / "dress" / "job.toml"


def test_a_sound_garment() -> None:
    done = marker("check", DRESS / "job.toml")
    assert done.exit_code == 0
    assert done.stdout.endswith("Nothing to correct: all seams meet.\n")
    facts = json.loads(marker("check", DRESS / "job.toml", "--json").stdout)
    assert facts["findings"] == []
    assert facts["sizes"] == ["34", "36", "38", "40", "42", "44"]
    seams = [seam for seam in facts["seams"] if seam["size"] == "38"]
    waist = next(seam for seam in seams if seam["name"] == "waist")
    assert (waist["size"], waist["tolerance_mm"]) == ("38", 2)
    assert [side["measure"] for side in waist["sides"]] == [True, False]
    for side in waist["sides"]:
        assert side["length_mm"] == pytest.approx(740, abs=0.2)
        assert 0 < side["flattening_error_mm"] < 0.1
    side = next(seam for seam in seams if seam["name"] == "bodice side")["sides"][0]
    assert side["notches_mm"] == [107.1]


def test_a_finding_comes_with_its_edit_and_does_not_change_the_exit_code(too_long: Path) -> None:
    done = marker("check", too_long)
    assert done.exit_code == 0
    assert "10 mm too long (tolerance 2 mm)\n    Shorten skirt front.waist by 10 mm" in done.stdout
    found = json.loads(marker("check", too_long, "--json").stdout)["findings"]
    (finding,) = found  # the other sizes are drawn apart
    assert list(finding) == ["code", "severity", "piece", "seam", "size", "message", "remedy"]
    assert (finding["code"], finding["severity"]) == ("seam-length", "error")
    assert (finding["piece"], finding["seam"], finding["size"]) == ("skirt front", "waist", "38")


def test_a_job_without_seams_says_so(tmp_path: Path) -> None:
    path = tmp_path / "job.toml"
    path.write_text(
        'name = "a"\nsize = "1"\norder = { "1" = 1 }\ncloth.a = { width = "1 m" }\n'
        '[[piece]]\nname = "b"\nshape = { kind = "rectangle", width = "1 cm", height = "20 cm" }\n'
    )
    assert "No seams to check" in marker("check", path).stdout


READING = 'stretch = { crossgrain = "6 in", lengthgrain = "4 1/2 in" }'


@pytest.mark.parametrize(
    ("changes", "code", "piece", "seam"),
    [
        # 4 in to 5 in is 25 %: Utah State University Extension, sewing with knits. A ratio of 0.6
        # asks for 1/0.6 - 1 = 67 % over all (geometry).
        (((READING, 'stretch = { crossgrain = "5 in" }'), ("ratio = 0.85", "ratio = 0.6"),
          ('38 = "56.5 cm"', '38 = "40 cm"'), ('38 = "104 cm"', '38 = "90 cm"')),
         "stretch-beyond-cloth", "neck binding", "neckline"),
        # greatest stretch goes around the body: common practice, no source
        (((READING, 'stretch = { crossgrain = "5 3/4 in", lengthgrain = "6 in" }'),),
         "greatest-stretch-not-around-body", "bodice front, bodice back",
         "waist over the shoulders"),
        # the binding stretched by 50 % (4 in to 6 in) against the head
        ((('38 = "56.5 cm"', '38 = "90 cm"'),),
         "opening-too-small", "neck binding", "neckline"),
    ],
)  # fmt: skip
def test_a_dress_spoiled_in_its_stretch_gets_the_one_finding(
    changes: tuple[tuple[str, str], ...], code: str, piece: str, seam: str, tmp_path: Path
) -> None:
    shutil.copytree(DRESS, tmp_path / "dress")
    job = tmp_path / "dress" / "job.toml"
    text = job.read_text(encoding="utf-8")
    for was, becomes in changes:
        assert text.count(was) == 1, was
        text = text.replace(was, becomes)
    job.write_text(text, encoding="utf-8")
    done = marker("check", job, "--json")
    assert done.exit_code == 0, done.output
    found = json.loads(done.stdout)["findings"]
    (finding,) = (each for each in found if each["size"] == "38")
    assert (finding["code"], finding["piece"], finding["seam"]) == (code, piece, seam)
    assert finding["message"]
    assert finding["remedy"]
