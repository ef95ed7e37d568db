"""From a job to a pattern file and back: outlines, notches, grain, names and counts are kept."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np
import pytest
import shapely
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from marker.cloth.fabric import Cloth
from marker.errors import CannotBeDone
from marker.exchange.dxf.grading import graded_sheet
from marker.exchange.dxf.rule_file import rules_text
from marker.exchange.importing import import_drawings
from marker.exchange.laid_flat import pattern_sheet
from marker.files.values import name_fault
from marker.geometry.arrays import FloatArray
from marker.job import Job
from marker.jobfile.reading import read_job
from marker.pattern.edge import Edge, Notch, Stretch
from marker.pattern.pattern import Pattern
from marker.pattern.piece import Line, Piece
from marker.pattern.stitching import edge_length_mm
from tests.exchange.exchange import (
    CREATED,
    all_cut,
    apart_mm,
    assert_same_pieces,
    imported,
    job_of,
    one_size,
    round_trip,
    written,
)
from tests.jobfile.writer import HEAD, piece
from tests.pieces.garments import GARMENTS, PIECES

KINDS = ("dxf", "svg")
# DXF writes other letters as \\U+XXXX, which ends at 16 bits
letters = st.characters(exclude_categories=("C", "Z"), max_codepoint=0xFFFF)
names = st.text(letters, min_size=1, max_size=20).filter(lambda name: name_fault(name) is None)


@st.composite
def outlines(draw: st.DrawFn) -> FloatArray:
    """Star-shaped about a point, counter-clockwise, 60 to 800 mm across."""
    count = draw(st.integers(3, 9))
    radii = np.array(draw(st.lists(st.floats(60, 400), min_size=count, max_size=count)))
    angles = 2 * np.pi * np.arange(count) / count
    return np.column_stack([radii * np.cos(angles), radii * np.sin(angles)])


@st.composite
def pieces(draw: st.DrawFn, name: str) -> Piece:
    """A piece with edges from corner to corner, allowances and notches, drawn along either line."""
    outline = draw(outlines())
    count = len(outline)
    allowance = draw(st.sampled_from([0.0, 6.0, 10.0]))
    own = draw(st.sampled_from([None, None, 15.0]))
    edges = {f"side {k}": Edge(k, (k + 1) % count) for k in range(count)}
    edges["side 0"] = Edge(0, 1, allowance_mm=own)
    pair = draw(st.booleans())
    plain = Piece(
        name,
        "jersey",
        outline,
        cut=2 * draw(st.integers(1, 2)) if pair else draw(st.integers(1, 3)),
        pair=pair,
        fold=draw(st.sampled_from([None, Stretch(count - 1, 0)])),
        grain_deg=draw(st.floats(-180, 180)),
        turns=draw(st.sampled_from([(0.0,), (0.0, 180.0), (0.0, 90.0, 180.0, 270.0)])),
        grain_tolerance_deg=draw(st.sampled_from([0.0, 2.5])),
        line=draw(st.sampled_from(list(Line))),
        allowance_mm=allowance,
        edges={key: edge for key, edge in edges.items() if key != f"side {count - 1}"},
    )
    return _notched(draw, plain)


def _notched(draw: st.DrawFn, plain: Piece) -> Piece:
    """Notches clear of the corners, where a cut line has no place square out of the stitching."""
    notches = []
    try:
        for edge in draw(st.lists(st.sampled_from(list(plain.edges)), max_size=3)):
            length = edge_length_mm(plain, edge)
            notches.append(Notch(edge, length * draw(st.floats(0.3, 0.7))))
    except CannotBeDone:
        assume(False)
    return replace(plain, notches=tuple(notches))


@st.composite
def jobs(draw: st.DrawFn) -> Job:
    named = draw(st.lists(names, min_size=1, max_size=2, unique=True))
    found = tuple(draw(pieces(name)) for name in named)
    cloth = Cloth("jersey", 1500.0)
    size = draw(st.sampled_from(["38", "M", "ähnlich 4"]))
    job = Job("choir dress", size, (Pattern(size, found),), (cloth,), {size: 1})
    try:
        assume(all(shapely.Polygon(cut.outline).is_valid for cut in all_cut(job)))
    except CannotBeDone:
        assume(False)
    return job


@pytest.mark.parametrize("kind", KINDS)
@settings(max_examples=25, deadline=None)
@given(job=jobs())
def test_a_job_comes_back_as_it_was(kind: str, job: Job) -> None:
    with TemporaryDirectory() as name:
        assert_same_pieces(job, round_trip(job, kind, Path(name)))


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("name", ["^", "a^b", "a^", "^^", "ü^"])
def test_a_caret_in_a_name_comes_back(name: str, kind: str, tmp_path: Path) -> None:
    square = np.array([[0.0, 0.0], [100.0, 0.0], [100.0, 80.0], [0.0, 80.0]])
    pattern = Pattern("38", (Piece(name, "jersey", square),))
    job = Job("choir dress", "38", (pattern,), (Cloth("jersey", 1500.0),), {"38": 1})
    assert_same_pieces(job, round_trip(job, kind, tmp_path))


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("garment", GARMENTS)
def test_garments_come_back_with_their_stitching_lines(
    garment: str, kind: str, tmp_path: Path
) -> None:
    read_in = read_job(PIECES / garment / "job.toml")
    job = one_size(read_in, read_in.size)
    again = round_trip(job, kind, tmp_path)
    assert_same_pieces(job, again)
    read = {piece.name: piece for piece in all_cut(again)}
    for cut in all_cut(job):
        if len(cut.stitching):
            assert apart_mm(cut.stitching, read[cut.name].stitching) <= 0.05


@pytest.mark.parametrize("kind", KINDS)
def test_a_hole_comes_back(kind: str, tmp_path: Path) -> None:
    """A full ring, as of a circle skirt: r = 100, R = 400 mm."""
    ring = 'shape = { kind = "ring sector", inner_radius = 100, outer_radius = 400, angle = 360 }'
    path = tmp_path / "ring.toml"
    path.write_text(HEAD + piece(ring))
    job = read_job(path)
    again = round_trip(job, kind, tmp_path)
    assert_same_pieces(job, again)
    assert shapely.Polygon(again.pattern.pieces[0].cutouts[0]).area == pytest.approx(
        np.pi * 100**2, rel=5e-3
    )


@pytest.mark.parametrize("kind", KINDS)
def test_the_same_sheet_gives_the_same_text(kind: str) -> None:
    job = read_job(PIECES / "shirt" / "job.toml")
    assert written(pattern_sheet(job), kind) == written(pattern_sheet(job), kind)


@pytest.mark.parametrize("kind", KINDS)
def test_several_cloths_keep_their_names(kind: str, tmp_path: Path) -> None:
    path = tmp_path / "two.toml"
    square = "points = [[0, 0], [100, 0], [100, 100], [0, 100]]"
    lining = piece(square, 'cloth = "lining"', name="back")
    path.write_text(HEAD + 'cloth.lining = { width = "1 m" }\n' + piece(square) + lining)
    found = imported(tmp_path, written(pattern_sheet(read_job(path)), kind), kind)
    assert [(item.name, item.cloth) for item in found.pieces] == [
        ("front", "jersey"),
        ("back", "lining"),
    ]
    assert found.passed_over == {}


@cache
def of_two_sizes(garment: str) -> Job:
    job = read_job(PIECES / garment / "job.toml")
    return replace(job, patterns=tuple(map(job.in_size, ("38", "44"))))


@pytest.mark.parametrize("kind", KINDS)
def test_each_size_comes_back(kind: str, tmp_path: Path) -> None:
    job = of_two_sizes("shirt")
    text = written(pattern_sheet(job), kind)
    found = imported(tmp_path, text, kind)
    assert found.size == (job.size if kind == "dxf" else "44")  # an SVG names no sample size
    assert (found.sizes, found.passed_over) == (job.sizes, {})
    assert_same_in_every_size(job, job_of(found, tmp_path))
    alone = imported(tmp_path, text, kind, size="44")
    assert (alone.size, alone.sizes) == ("44", ("44",))


def assert_same_in_every_size(job: Job, again: Job) -> None:
    assert again.sizes == job.sizes
    assert len(job.sizes) > 1
    for size in job.sizes:
        assert_same_pieces(one_size(job, size), one_size(again, size))


def by_rules(job: Job, folder: Path) -> Job:
    """The job written as its sample size and a file of rules, and read back."""
    sheet, rules = graded_sheet(job)
    drawing, grading = folder / "choir.dxf", folder / "choir.rul"
    drawing.write_text(written(sheet, "dxf"))
    grading.write_text(rules_text(rules, CREATED))
    found = import_drawings([drawing, grading])
    assert found.passed_over == {}
    return job_of(found, folder)


@pytest.mark.parametrize("garment", ["shirt", "choir-dress"])
def test_sizes_come_back_by_rules(garment: str, tmp_path: Path) -> None:
    """The shirt is graded by rules itself, the dress drawn in each size."""
    job = of_two_sizes(garment)
    assert_same_in_every_size(job, by_rules(job, tmp_path))


@st.composite
def graded_jobs(draw: st.DrawFn) -> Job:
    """A job in three sizes, the corners of whose pieces move by up to 15 mm from the sample's."""
    job = draw(jobs())
    patterns = []
    for size in ("small", job.size, "large"):
        grown = []
        for each in job.pattern.pieces:
            moves = draw(st.lists(st.floats(-15, 15), min_size=2 * len(each.outline),
                                  max_size=2 * len(each.outline)))  # fmt: skip
            by = np.reshape(moves, (-1, 2)) if size != job.size else 0.0
            grown.append(replace(each, outline=each.outline + by))
        patterns.append(Pattern(size, tuple(grown)))
    return replace(job, patterns=tuple(patterns))


@settings(max_examples=15, deadline=None)
@given(job=graded_jobs())
def test_any_sizes_come_back_by_rules(job: Job) -> None:
    with TemporaryDirectory() as name:
        try:
            again = by_rules(job, Path(name))
        except CannotBeDone:  # other corners in another size
            assume(False)
        assert_same_in_every_size(job, again)


def test_two_allowances_at_a_nearly_straight_corner_come_back_by_rules(tmp_path: Path) -> None:
    """Where they meet the stitching line steps in, in each size in another way; the cut line, which
    is drawn, is kept."""
    corner = {"small": (180.0, 169.0), "38": (180.0, 180.0), "large": (180.0, 195.0)}
    patterns = []
    for size, at in corner.items():
        outline = np.array([(344.0, 0.0), at, (0.0, 399.0), (-255.0, 255.0), (0.0, -328.0)])
        edges = {"side": Edge(0, 1, allowance_mm=15.0), "rest": Edge(1, 0)}
        drawn = Piece("front", "jersey", outline, grain_deg=0.0, edges=edges, allowance_mm=0.0)
        patterns.append(Pattern(size, (drawn,)))
    job = Job("choir dress", "38", tuple(patterns), (Cloth("jersey", 1500.0),), {"38": 1})
    assert_same_in_every_size(job, by_rules(job, tmp_path))
