"""`marker bands` and what `marker check` says of bands and stretch."""

from __future__ import annotations

import json
import math
import re
from pathlib import Path
from typing import Any

import pytest

from marker.files.own_files import OwnFiles
from marker.outputs import drawings
from marker.pattern.bands.strip_plan import StripPlan
from tests.cli.commands import job_file, marker
from tests.jobfile.writer import HEAD, SQUARE, piece, strip

INCH = 25.4
BAND_KEYS = {
    "name", "piece", "finishes", "opening_mm", "ratio", "cut_length_mm", "cut_width_mm", "joins",
    "marks", "zones", "warnings",
}  # fmt: skip
CHOIR = Path(__file__).parents[2] / "pieces" / "choir-dress" / "job.toml"


def ring_job(*lines: str, radius: str = f"{20 / (2 * math.pi)} in", cloth: str = "") -> str:
    """A disc of this radius sewn into a ring of cloth: the hole's edge, an opening of 2πr.

    The ring is drawn as half on the fold, so that its inner arc is an edge.
    """
    sector = (
        f"shape = {{ kind = 'ring sector', inner_radius = '{radius}', outer_radius = '60 cm', "
        "angle = 180 }",
        "edges = { neck = [4, 1], edge = [2, 3] }",
        "line = 'stitching line'",
        "allowance = '1 cm'",
        "flatten = '0.001 mm'",
    )
    opening = "\n[[opening]]\nname = 'neckline'\nedges = ['half.neck', 'half.neck']\n"
    head = HEAD.replace('150 cm"', f'150 cm", stretch = {{ crossgrain = "5 in" }}{cloth}')
    return head + piece(*sector, "cut = 2", name="half") + opening + strip(
        "finishes = 'neckline'", *lines
    )  # fmt: skip


@pytest.fixture
def no_drawing(monkeypatch: pytest.MonkeyPatch) -> None:
    """Drawing has tests of its own and takes seconds; here one line stands for the pages."""

    def drawn(name: str, plans: dict[str, list[StripPlan]]) -> dict[str, bytes]:
        counts = {size: len(of_size) for size, of_size in plans.items()}
        return {"bands.svg": f"{name} {counts}".encode()}

    monkeypatch.setattr(drawings, "render_bands", drawn)


def bands(job: Path, *words: object) -> dict[str, Any]:
    result = marker("bands", job, "--json", "--out", job.parent / "out", *words)
    assert result.exit_code == 0, result.output
    return dict(json.loads(result.stdout))


@pytest.mark.usefixtures("no_drawing")
@pytest.mark.parametrize(
    ("ratio", "percent"), [(0.90, 11.1), (0.85, 17.6), (0.75, 33.3), (2 / 3, 50)]
)
def test_ratio_and_the_stretch_it_needs(ratio: float, percent: float, tmp_path: Path) -> None:
    """Stretch a band needs at its seam is 1/ratio - 1 (geometry)."""
    (band,) = bands(job_file(tmp_path, ring_job(f"ratio = {ratio}")))["bands"]
    assert set(band) >= BAND_KEYS
    assert band["opening_mm"] == pytest.approx(20 * INCH, abs=0.1)
    assert band["cut_length_mm"] == pytest.approx(ratio * 20 * INCH + 20, abs=0.1)
    assert 100 * band["zones"][0]["stretch"] == pytest.approx(percent, abs=0.05)
    assert bool(band["warnings"]) is (ratio <= 0.75), "the knit gives 25 %"


@pytest.mark.usefixtures("no_drawing")
def test_a_band_that_lies_flat(tmp_path: Path) -> None:
    """L - 2πw of a full circle: 20 in and 5/8 in give 16.07 in (geometry)."""
    text = ring_job("lies_flat = true", "fold = 'flat'", "finished_width = '5/8 in'")
    text = text.replace('width = "5 cm"\n', "")
    job = job_file(tmp_path, text)
    (band,) = bands(job)["bands"]
    assert band["seam_mm"] / INCH == pytest.approx(16.07, abs=0.01)
    assert band["cut_width_mm"] == pytest.approx(5 / 8 * INCH + 20, abs=0.05)
    said = marker("bands", job, "--out", tmp_path / "out").stdout
    assert (
        "turns smoothly by 360°, so 15.9 mm inside it is 50.8 cm - 360°/360° × 2π × 15.9 mm" in said
    )


@pytest.mark.usefixtures("no_drawing")
def test_bands_of_a_job_in_inches_are_said_in_inches(tmp_path: Path) -> None:
    """20 in at 0.9, and two join allowances of 1 cm: 18 + 25/32 in, 18 13/16 in to 1/16 in."""
    text = 'show = "imperial"\n' + ring_job("ratio = 0.9")
    said = marker("bands", job_file(tmp_path, text), "--out", tmp_path / "out").stdout
    about = said[said.index(": cut 1 of") : said.index("  marks ")]
    assert "cut 1 of 18 13/16 in" in about
    assert " to 18 3/8 in " in about
    assert not re.search(r"\d (mm|cm|m)\b", said)


@pytest.mark.usefixtures("no_drawing")
def test_bias_square_of_the_published_figures(tmp_path: Path) -> None:
    """250 in × 2 in from a square of 22.36 in (geometry)."""
    lines = ("length = '50 in'", "cut = 5", "direction = 'bias'")
    text = HEAD + piece(SQUARE) + strip(*lines).replace("5 cm", "2 in")
    job = job_file(tmp_path, text)
    facts = bands(job)
    (square,) = facts["strips"][0]["bias_squares"]
    assert square["side_mm"] / INCH == pytest.approx(22.36, abs=0.005)
    said = marker("bands", job, "--out", tmp_path / "out").stdout
    assert "6.35 m × 50.8 mm = 3226 cm²" in said
    assert "EN 14682 or ASTM F1816" in said
    assert "steps its width × √2 along the selvage: 50.8 mm × √2 = 71.8 mm" in said


@pytest.mark.usefixtures("no_drawing")
def test_rules_of_thumb_hold_on_the_choir_dress(tmp_path: Path) -> None:
    """Common practice, no source: bindings 2 in wide; the armhole's 0.9 of it. Quartered, but for
    quarters within 15 mm of another mark; eased under the arm and at centre front and back only."""
    facts = json.loads(marker("bands", CHOIR, "--json", "--out", tmp_path).stdout)
    found = {band["name"]: band for band in facts["bands"]}
    neck, armhole = found["neck binding"], found["armhole binding"]
    assert neck["cut_width_mm"] == armhole["cut_width_mm"] == pytest.approx(2 * INCH, abs=0.05)
    assert armhole["seam_mm"] / armhole["opening_mm"] == pytest.approx(0.91, abs=1e-3)
    for band, eased, plain in ((neck, ("centre front", "centre back"), "seam"),
                               (armhole, ("under arm",), "seam")):  # fmt: skip
        assert band["warnings"] == []
        names = {mark["name"] for mark in band["marks"]}
        quarters = band["opening_mm"] / 4
        away = [mark["opening_mm"] / quarters for mark in band["marks"]]
        near = 15 / quarters
        assert all(any(abs(at - k) < near for at in away) for k in range(4)), "quartered"
        assert names, band["name"]
        for name in (*eased, plain):
            for mark in (mark for mark in band["marks"] if name in mark["name"]):
                zone = next(
                    zone for zone in band["zones"]
                    if zone["start_mm"] - 0.1 <= mark["band_mm"] <= zone["end_mm"] + 0.1
                )  # fmt: skip
                assert zone["stretched"] is (name in eased)


@pytest.mark.usefixtures("no_drawing")
def test_a_sample_that_rippled(tmp_path: Path) -> None:
    job = job_file(tmp_path, ring_job("ratio = 0.85"))
    words = ("--sample", "binding", "--rippled", "6 mm", "--over", "20 cm")
    done = marker("bands", job, *words)
    assert done.exit_code == 0
    assert "0.850 - 6 mm ÷ 20 cm = 0.820" in done.stdout
    facts = json.loads(marker("bands", job, *words, "--json").stdout)
    assert facts["new_ratio"] == pytest.approx(0.82)
    assert facts["new_cut_length_mm"] == pytest.approx(0.82 * 20 * INCH + 20, abs=0.1)
    gathered = marker("bands", job, "--sample", "binding", "--gathered", "1/2 in")
    assert "0.850 + 12.7 mm ÷ 50.8 cm = 0.875" in gathered.stdout
    assert list(tmp_path.iterdir()) == [job], "nothing is written"


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--rippled", "6 mm"), "--sample"),
        (("--sample", "binding"), "--rippled or --gathered"),
        (("--sample", "binding", "--rippled", "1 mm", "--gathered", "1 mm"), "--gathered"),
        (("--sample", "belt", "--rippled", "6 mm"), "those that do: 'binding'"),
        (("--sample", "binding", "--rippled", "6"), "no unit"),
        (("--sample", "binding", "--rippled", "0 mm"), "not more than nothing"),
    ],
)
def test_wrong_use_of_a_sample(words: tuple[str, ...], said: str, tmp_path: Path) -> None:
    done = marker("bands", job_file(tmp_path, ring_job("ratio = 0.85")), *words)
    assert done.exit_code == 2
    assert said in done.stderr


@pytest.mark.usefixtures("no_drawing")
def test_a_job_without_strips(tmp_path: Path) -> None:
    job = job_file(tmp_path, HEAD + piece(SQUARE))
    assert bands(job)["bands"] == []
    assert "has no strips" in marker("bands", job).stdout
    assert list(tmp_path.iterdir()) == [job]


def test_bands_are_drawn(tmp_path: Path) -> None:
    (tmp_path / "out").mkdir()
    OwnFiles(tmp_path / "out").replace({"bands-3.png": b""}, "bands")
    facts = bands(job_file(tmp_path, ring_job("ratio = 0.85")))
    assert {Path(path).name for path in facts["files"]} == {"bands.pdf", "bands.svg", "bands.png"}
    assert {path.name for path in (tmp_path / "out").glob("[!.]*")} == {
        "bands.pdf", "bands.svg", "bands.png"
    }  # fmt: skip


@pytest.mark.usefixtures("no_drawing")
def test_what_strips_cost(tmp_path: Path) -> None:
    """A strip as wide as the cloth beside a square that leaves it no room: nothing is saved."""
    text = HEAD + piece("points = [[0, 0], [100, 0], [100, 1500], [0, 1500]]", "grain = 0")
    job = job_file(tmp_path, text + strip("length = '150 cm'"))
    (cost,) = bands(job, "--seconds", 0.3)["costs"]
    assert cost["strips_mm"] == 50
    assert cost["pieces_mm"] == pytest.approx(100, abs=0.1)
    assert cost["among_mm"] == pytest.approx(150, abs=0.1)
    assert cost["saved_mm"] == pytest.approx(0, abs=0.2)


@pytest.mark.parametrize(
    ("text", "code"),
    [
        (ring_job("ratio = 0.6"), "stretch-beyond-cloth"),
        (ring_job("ratio = 1", "fold = 'double'"), "band-ripples"),
        (ring_job("ratio = 0.9", cloth=", needs_stretch = 30"), "cloth-stretches-too-little"),
        (ring_job("ratio = 0.9").replace("'half.neck']\n", "'half.neck']\npasses = '60 cm'\n"),
         "opening-too-small"),
    ],
)  # fmt: skip
def test_check_finds_it_once(text: str, code: str, tmp_path: Path) -> None:
    done = marker("check", job_file(tmp_path, text), "--json")
    assert done.exit_code == 0, done.output
    (finding,) = json.loads(done.stdout)["findings"]
    assert finding["code"] == code
    assert set(finding) == {"code", "severity", "piece", "seam", "size", "message", "remedy"}


def test_check_finds_nothing_on_a_sound_band(tmp_path: Path) -> None:
    done = marker("check", job_file(tmp_path, ring_job("ratio = 0.85")), "--json")
    assert json.loads(done.stdout)["findings"] == []


def tape(*options: object) -> dict[str, Any]:
    """The band of an opening of 20 in, 5/8 in wide."""
    result = marker("bands", "--opening", "20 in", "--finished-width", "5/8 in", *options, "--json")
    assert result.exit_code == 0, result.output
    (band,) = json.loads(result.stdout)["bands"]
    found: dict[str, Any] = band
    return found


def test_a_band_from_a_tape_measure() -> None:
    """0.85 × 20 in is 17 in, quartered at 4 1/4 in; cut with a join of 2 × 10 mm, twice 5/8 in wide
    and two allowances (arithmetic)."""
    band = tape("--ratio", "0.85")
    assert set(band) >= BAND_KEYS
    assert band["seam_mm"] == pytest.approx(17 * INCH, abs=0.05)
    assert band["cut_length_mm"] == pytest.approx(17 * INCH + 20, abs=0.05)
    assert band["cut_width_mm"] == pytest.approx(2 * 5 / 8 * INCH + 20, abs=0.05)
    quarters = [mark["band_mm"] for mark in band["marks"]]
    assert quarters == pytest.approx([10 + k * 4.25 * INCH for k in range(4)], abs=0.06)


def test_other_lengths_from_a_tape_measure() -> None:
    """20 in less 2π · 5/8 in are 16.07 in (geometry); 20 in less 1 in; a waistband as long as its
    opening, with two ends and an underlap."""
    assert tape("--lies-flat", "360")["seam_mm"] / INCH == pytest.approx(16.07, abs=0.005)
    assert tape("--shorter-by", "1 in")["seam_mm"] == pytest.approx(19 * INCH, abs=0.05)
    band = tape("--stands", "--underlap", "3 cm", "--cloth-width", "40 cm")
    assert band["cut_length_mm"] == pytest.approx(20 * INCH + 20 + 30, abs=0.05)
    assert (band["parts"], band["end_lap"]) == (2, {"kind": "underlap", "mm": 30.0})


@pytest.mark.parametrize(
    ("opening", "wide", "cut", "mark"),
    [
        ("18 in", "1/2 in", "cut 16 1/16 in × 1 13/16 in (40.9 cm", "11 7/8 in     13 1/2 in: 3/4"),
        ("457.2 mm", "12.7 mm", "cut 40.9 cm × 45.4 mm (16 1/16 in", "30.1 cm       34.3 cm: 3/4"),
    ],
)
def test_a_band_from_a_tape_measure_in_words(opening: str, wide: str, cut: str, mark: str) -> None:
    """The units that the tape was read in come first."""
    words = ("--opening", opening, "--ratio", "0.85", "--finished-width", wide)
    said = marker("bands", *words).stdout
    assert cut in said
    assert "1/0.850 - 1 = 17.6 %" in said
    assert mark in said


@pytest.mark.parametrize(
    ("options", "problem"),
    [
        ((), "give a JOB, or the length of an opening"),
        (("--opening", "18 in", "--ratio", "0.9"), "how wide"),
        (("--opening", "18 in", "--finished-width", "1 in"), "one of --ratio"),
        (("--opening", "18 in", "--finished-width", "1 in", "--ratio", "1", "--stands",
          "--lies-flat", "90"), "one of --ratio"),
        (("--opening", "18 in", "--finished-width", "1 in", "--stands", "--lies-flat", "90"),
         "does not lie flat"),
        (("--opening", "18 in", "--finished-width", "1 in", "--ratio", "1", "--underlap", "1 in"),
         "add --stands"),
        (("--opening", "18", "--finished-width", "1 in", "--ratio", "1"), "no unit"),
        ((CHOIR, "--opening", "18 in"), "not both"),
        ((CHOIR, "--ratio", "0.9"), "goes with --opening"),
    ],
)  # fmt: skip
def test_a_tape_measure_used_wrongly(options: tuple[object, ...], problem: str) -> None:
    result = marker("bands", *options)
    assert result.exit_code == 2
    assert problem in result.output


def test_nothing_left_of_a_band_is_said() -> None:
    result = marker("bands", "--opening", "10 in", "--lies-flat", "360", "--finished-width", "2 in")
    assert result.exit_code == 1
    assert "less than nothing" in result.output
