"""What export and import keep: the cloth's nap, gap, ends and width, stitching lines, marks."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from marker.cloth.fabric import Nap
from marker.exchange.cloth_facts import ClothFacts, cloth_line, read_cloths
from marker.exchange.dxf.dxf_text import dxf_text
from marker.exchange.importing import import_drawings
from marker.exchange.laid_flat import pattern_sheet
from marker.exchange.pdf.pattern_pdf import pattern_pdf
from marker.exchange.svg.svg_text import svg_text
from marker.job import Job
from marker.jobfile.reading import read_job
from marker.jobfile.writing import job_files
from marker.pattern.inner_marks import MarkKind
from tests.cli.commands import job_file, laid, marker
from tests.exchange.exchange import CREATED, assert_same_pieces

WOOL = """
name = "choir robe"
units = "cm"
size = "38"
order = { "38" = 1 }
[cloth."wool, navy"]
width = 140
selvage = 1.5
nap = "one way"
gap = 0.3
end_allowance = 2.5
[cloth.lining]
width = 150
[[piece]]
name = "front"
cloth = "wool, navy"
points = [[0, 0], [30, 0], [32, 50], [0, 50]]
fold = [4, 1]
grain = 90
allowance = 1
edges = { side = [2, 3], waist = [3, 4], hem = [1, 2] }
notches = [{ edge = "side", at = 20 }]
darts = [{ edge = "waist", at = 15, intake = 2, depth = 9 }]
marks = [
    { kind = "drill hole", at = [10, 20] },
    { kind = "button", points = [[5, 10], [5, 20]] },
    { kind = "buttonhole", at = [12, 30], length = 2 },
    { kind = "placement", points = [[8, 5], [14, 5], [14, 12]], closed = true, name = "pocket" },
    { kind = "fold line", points = [[3, 3], [3, 45]] },
    { kind = "line", points = [[20, 5], [25, 15], [22, 25]] },
    { kind = "text", at = [15, 40], name = "this side up" },
]
[[piece]]
name = "back lining"
cloth = "lining"
points = [[0, 0], [30, 0], [32, 50], [0, 50]]
cut = 2
pair = true
allowances = { side = 1.5 }
edges = { side = [2, 3] }
"""


@pytest.fixture
def job(tmp_path: Path) -> Job:
    path = tmp_path / "robe.toml"
    path.write_text(WOOL)
    return read_job(path)


def again(job: Job, kind: str, folder: Path) -> Job:
    """The job exported, imported without a word about the cloth, and read."""
    sheet = pattern_sheet(job)
    path = folder / f"robe.{kind}"
    if kind == "pdf":
        path.write_bytes(pattern_pdf(sheet))
    else:
        path.write_text(svg_text(sheet) if kind == "svg" else dxf_text(sheet, CREATED))
    made = job_files(import_drawings([path]), ["robe"])
    assert made.left_out == []
    for name, text in made.texts.items():
        (folder / name).write_text(text)
    return read_job(folder / "job.toml")


@pytest.mark.parametrize("kind", ["svg", "dxf", "pdf"])
def test_the_cloth_comes_back(kind: str, job: Job, tmp_path: Path) -> None:
    for one, other in zip(job.cloths, again(job, kind, tmp_path).cloths, strict=True):
        assert (other.name, other.nap) == (one.name, one.nap)
        for key in ("width_mm", "selvage_mm", "gap_mm", "end_allowance_mm"):
            assert getattr(other, key) == pytest.approx(getattr(one, key))


@pytest.mark.parametrize("kind", ["svg", "dxf", "pdf"])
def test_the_pieces_come_back(kind: str, job: Job, tmp_path: Path) -> None:
    read = again(job, kind, tmp_path)
    assert_same_pieces(job, read)
    for cloth in job.cloths:
        pairs = zip(job.cut_pieces(cloth), read.cut_pieces(cloth), strict=True)
        for one, other in pairs:
            assert len(one.stitching) == len(other.stitching) or len(other.stitching) > 0
            assert other.turns == one.turns


@pytest.mark.parametrize("kind", ["svg", "pdf"])
def test_marks_come_back(kind: str, job: Job, tmp_path: Path) -> None:
    """Each of its kind and in its place; a dart's legs come as lines, the fold as one inside."""
    read = again(job, kind, tmp_path)
    cloth = job.cloths[0]
    (front,), (same,) = job.cut_pieces(cloth), read.cut_pieces(cloth)
    wanted = [(m.kind, m.points) for m in front.inner_marks]
    assert front.fold_line is not None
    wanted.append((MarkKind.FOLD_LINE, front.fold_line))
    wanted = [(MarkKind.LINE if k.follows else k, points) for k, points in wanted]
    wanted = [each for each in wanted if kind == "svg" or each[0] is not MarkKind.TEXT]
    shift = same.outline.min(axis=0) - front.outline.min(axis=0)
    assert len(same.inner_marks) == len(wanted)
    for mark in same.inner_marks:
        near = [
            points
            for k, points in wanted
            if k is mark.kind
            and points.shape == mark.points.shape
            and np.abs(points + shift - mark.points).max() < 0.05
        ]
        assert near, (mark.kind, mark.points)
    if kind == "svg":
        names = {mark.name for mark in same.inner_marks}
        assert {"pocket", "this side up"} <= names


def test_points_and_lines_come_back_from_dxf(job: Job, tmp_path: Path) -> None:
    """ASTM D6673 has layers for both, 8 and 13, and no more words for what they are."""
    read = again(job, "dxf", tmp_path)
    (front,), (same,) = job.cut_pieces(job.cloths[0]), read.cut_pieces(job.cloths[0])
    points = sum(m.kind.is_point and m.kind is not MarkKind.TEXT for m in front.inner_marks)
    lines = sum(not m.kind.is_point for m in front.inner_marks) + 1
    kinds = [mark.kind for mark in same.inner_marks]
    assert kinds.count(MarkKind.DRILL_HOLE) == points
    assert kinds.count(MarkKind.LINE) == lines


def test_a_line_of_a_cloth_reads_back() -> None:
    facts = ClothFacts("wool | navy", 1400.0, 15.0, Nap.ONE_WAY, 3.0, 25.0)
    (read,) = read_cloths([cloth_line(facts), "Cloth: wool", "no line"])
    assert read == ClothFacts("wool navy", 1400.0, 15.0, Nap.ONE_WAY, 3.0, 25.0)


@pytest.mark.parametrize(
    "line",
    [
        "Cloth Facts:",
        "Cloth Facts: | width 3 mm",
        "Cloth Facts: wool | width 99999999 mm | nap sideways | gap -3 mm | ends 1e9 mm",
        "Cloth Facts: wool | width nan mm | selvage 3 | gap 3 cm",
        "cloth facts: wool | | | width",
        "Cloth Facts: " + "w" * 5000,
    ],
)
def test_what_can_not_be_right_is_not_known(line: str) -> None:
    for facts in read_cloths([line]):
        assert facts == ClothFacts(facts.name)


@pytest.mark.parametrize("kind", ["svg", "dxf", "pdf"])
def test_a_layout_keeps_the_cloth_it_is_laid_on(kind: str, tmp_path: Path) -> None:
    """A wool of one way does not come back as one that may lie either way; nothing is told of it
    when it is imported."""
    text = WOOL.split("[cloth.lining]")[0] + "[[piece]]\nname = 'cuff'\npoints = "
    job = job_file(tmp_path, text + "[[0, 0], [30, 0], [30, 12], [0, 12]]\nallowance = 1\n")
    laid(job, "--iterations", 0)
    told = marker("export", tmp_path / "out" / "layout.json", "--to", kind)
    assert told.exit_code == 0, told.output
    told = marker("import", tmp_path / "out" / f"layout.{kind}", "--out", tmp_path / "again")
    assert told.exit_code == 0, told.output
    (one,), (other,) = read_job(job).cloths, read_job(tmp_path / "again" / "job.toml").cloths
    assert other.nap is one.nap is Nap.ONE_WAY
    for key in ("width_mm", "selvage_mm", "gap_mm", "end_allowance_mm"):
        assert getattr(other, key) == pytest.approx(getattr(one, key)), key
