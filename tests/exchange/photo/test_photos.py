"""Photos read: measures of known pieces, what is drawn on them, and photos that can't be used."""

from __future__ import annotations

import struct
import sys
import zlib
from collections.abc import Sequence
from dataclasses import replace
from io import BytesIO
from pathlib import Path

import numpy as np
import pytest
import shapely
from PIL import Image
from shapely.geometry.base import BaseGeometry

from marker.errors import FaultyInput
from marker.exchange.importing import Imported, Wanted, import_drawings
from marker.exchange.photo.import_photos import Taken
from marker.exchange.photo.reference import NotAReference, reference_named
from tests.exchange.photo.camera import Camera, Painted, Spoiling, photographed
from tests.exchange.photo.measuring import AREA_SHARE, compared
from tests.exchange.photo.scenes import (
    INK,
    PEN_MM,
    WHITE,
    Ground,
    Kind,
    Known,
    band,
    ground_of,
    looking_at,
    pocket,
    random_scene,
    sheet_of_marks,
    skirt,
)

PIXELS = (1600, 1200)
ROOM = (600.0, 430.0)


def read(reference: str, *paths: Path, **told: object) -> Imported:
    taken = Taken(reference_named(reference), **told)  # type: ignore[arg-type]
    return import_drawings(paths, Wanted(taken=taken))


def faults(reference: str, *paths: Path, **told: object) -> str:
    with pytest.raises(FaultyInput) as raised:
        read(reference, *paths, **told)
    return str(raised.value)


def photo(
    path: Path, painted: Sequence[Painted], camera: Camera, spoiling: Spoiling | None = None
) -> Path:
    path.write_bytes(photographed(camera, painted, spoiling or Spoiling(), 3))
    return path


def above(tilt: float = 0.0, barrel: float = 0.0) -> Camera:
    return looking_at(ROOM, PIXELS, np.random.default_rng(5), tilt, barrel)


def paper(wide: float, high: float, x: float, y: float) -> BaseGeometry:
    return shapely.box(x, y, x + wide, y + high)


def cut(piece: Known) -> Painted:
    return Painted(shapely.Polygon(piece.outline), WHITE)


def pen(line: BaseGeometry) -> Painted:
    return Painted(line.buffer(PEN_MM / 2), INK)


def arrow(tail: tuple[float, float], head: tuple[float, float]) -> Painted:
    (x, y), (u, v) = head, np.array(head) - tail
    u, v = np.array([u, v]) / np.hypot(u, v)
    wings = [(x - 9 * u - s * 5 * v, y - 9 * v + s * 5 * u) for s in (1, -1)]
    return pen(shapely.MultiLineString([[tail, head], [wings[0], head], [head, wings[1]]]))


def table(*others: Painted) -> list[Painted]:
    return [*ground_of(Ground.BROWN, ROOM, np.random.default_rng(1)), *others]


A4 = Painted(paper(210, 297, 370, 70), WHITE)
PIECE = band(100, 300).placed(0, 180, 90)


@pytest.mark.parametrize(
    ("ground", "kind", "seed"),
    [
        (Ground.BROWN, Kind.A4, 4),
        (Ground.WHITE, Kind.LETTER, 4),
        (Ground.PATTERNED, Kind.ONE_SHEET, 6),
    ],
)
def test_every_piece_is_measured(ground: Ground, kind: Kind, seed: int, tmp_path: Path) -> None:
    scene = random_scene(seed, ground, kind, 4, PIXELS, (680.0, 700.0))
    (tmp_path / "photo.jpg").write_bytes(scene.jpeg())
    found = read(str(kind), tmp_path / "photo.jpg")
    pairs, missed, invented = compared(scene.pieces, [piece.outline for piece in found.pieces])
    assert len(scene.pieces) >= 2
    assert (missed, invented) == ([], 0)
    assert max(pair.worst for pair in pairs) <= 1.0
    assert max(abs(pair.area) for pair in pairs) <= AREA_SHARE
    assert found.photos is not None
    assert found.photos.photos[0].rms_mm < 0.2
    assert found.no_grain_deg is None


def test_lines_drawn_on_paper_with_arrows_and_a_drawn_square(tmp_path: Path) -> None:
    pieces = [skirt(250, 360).placed(92, 200, 280), band(60, 200).placed(-4, 470, 60)]
    square = shapely.LinearRing([(420, 240), (520, 240), (520, 340), (420, 340)])
    drawn = [pen(shapely.LinearRing(piece.outline)) for piece in pieces]
    grain = arrow((120, 270), (250, 275))
    sheet = Painted(shapely.box(-900, -900, 1500, 1300), WHITE)
    camera = above(18.0, 0.04)
    path = photo(tmp_path / "drawn.jpg", [sheet, *drawn, pen(square), grain], camera)
    found = read("10 cm", path, lines=True)
    pairs, missed, invented = compared(pieces, [piece.outline for piece in found.pieces])
    assert (missed, invented) == ([], 0)
    assert max(pair.worst for pair in pairs) <= 1.0
    arrows = [piece.grain for piece in found.pieces]
    assert arrows[1] is None
    assert arrows[0] is not None
    assert np.hypot(*(arrows[0][1] - arrows[0][0])) == pytest.approx(np.hypot(130, 5), abs=2.0)
    square_on = found.pieces[0].outline
    longest = square_on[np.argsort(square_on[:, 0])]
    assert arrows[0][1, 0] > arrows[0][0, 0] > longest[0, 0]


def test_a_red_line_marks_the_fold(tmp_path: Path) -> None:
    low, high = PIECE.outline.min(axis=0), PIECE.outline.max(axis=0)
    hole = Painted(paper(50, 40, 160, 70), (0.24, 0.13, 0.06))
    red = Painted(paper(high[0] - low[0] - 60, 1.5, low[0] + 30, low[1] + 7), (0.5, 0.02, 0.02))
    path = photo(tmp_path / "fold.jpg", table(A4, cut(PIECE), red, hole), above(10.0))
    found = read("a4", path)
    fold = found.pieces[0].fold
    assert fold is not None
    assert np.hypot(*(fold[1] - fold[0])) == pytest.approx(300.0, abs=1.0)
    assert fold[:, 1].max() < found.pieces[0].outline[:, 1].mean()
    assert found.pieces[0].grain is not None
    assert any("along its fold" in told for told in found.changed)
    assert any("the ground shows in 1 place" in told for told in found.changed)


def test_edges_are_named_by_number(tmp_path: Path) -> None:
    path = photo(tmp_path / "named.jpg", table(A4, cut(PIECE)), above(10.0))
    found = read("a4", path, names=("cuff",), folds=((1, 1),), grains=((1, 2),))
    piece = found.pieces[0]
    assert piece.name == "cuff"
    assert piece.fold is not None
    assert piece.grain is not None
    across = (piece.fold[1] - piece.fold[0]) @ (piece.grain[1] - piece.grain[0])
    assert across == pytest.approx(0.0, abs=200.0)  # square to one another
    assert "has no edge 9" in faults("a4", path, folds=((1, 9),))
    assert "1 piece and 2 names" in faults("a4", path, names=("cuff", "collar"))


def test_photos_of_one_large_piece_are_joined(tmp_path: Path) -> None:
    pieces = [skirt(330, 1150).placed(90, 640, 200), pocket(150, 160).placed(3, 120, 520)]
    rng = np.random.default_rng(5)
    painted = [*ground_of(Ground.BROWN, (1300, 700), rng), *map(cut, pieces)]
    for number, x in enumerate((330, 640, 950), 1):
        sheet, printed = sheet_of_marks(number, 3 * number, x, 560)
        painted += [Painted(sheet, WHITE), printed]
    paths = []
    for number, (left, right, tilt) in enumerate([(-20, 800, 12.0), (480, 1320, 20.0)]):
        camera = looking_at((right - left, 700.0), (2000, 1500), rng, tilt, 0.03)
        camera = replace(camera, target=((left + right) / 2, 350.0))
        paths.append(photo(tmp_path / f"{number}.jpg", painted, camera))
    found = read("marks", *paths)
    pairs, missed, invented = compared(pieces, [piece.outline for piece in found.pieces])
    assert (missed, invented) == ([], 0)
    assert max(pair.worst for pair in pairs) <= 1.0
    assert found.photos is not None
    assert len(found.photos.checks) == 2
    assert "cut off by the frame" in faults("marks", paths[0])


def test_a_pdf_of_a_scan(tmp_path: Path) -> None:
    camera = replace(above(), focal=1e6, distance_mm=4.2e5, roll_deg=0.0, barrel=0.0)
    scan = photographed(camera, table(A4, cut(PIECE)), Spoiling(0.0, 0.0), 1)
    Image.open(BytesIO(scan)).save(tmp_path / "scan.pdf", resolution=150)
    found = read("a4", tmp_path / "scan.pdf")
    pairs, missed, invented = compared([PIECE], [piece.outline for piece in found.pieces])
    assert (missed, invented) == ([], 0)
    assert pairs[0].worst <= 1.0


def header_of(wide: int, high: int) -> bytes:
    """A PNG that says how large it is and holds nothing."""
    said = b"IHDR" + struct.pack(">IIBBBBB", wide, high, 8, 2, 0, 0, 0)
    head = b"\x89PNG\r\n\x1a\n" + struct.pack(">I", 13) + said
    return head + struct.pack(">II", zlib.crc32(said), 9) + b"IDAT"


@pytest.mark.parametrize(
    ("content", "problem"),
    [
        (b"no picture at all", "this is no picture"),
        (header_of(16_000, 12_500), "more than 60000000 pixels"),
        (header_of(9_000, 9_000), "more than 60000000 pixels"),
        (header_of(4_000, 3_000), "this is no picture, or it is broken"),
        (header_of(320, 200), "too few to measure by"),
    ],
)
def test_files_that_are_no_photos(content: bytes, problem: str, tmp_path: Path) -> None:
    (tmp_path / "photo.png").write_bytes(content)
    assert problem in faults("a4", tmp_path / "photo.png")


def test_photos_that_cannot_be_measured_by(tmp_path: Path) -> None:
    whole = photo(tmp_path / "whole.jpg", table(A4, cut(PIECE)), above(10.0))
    assert "no reference is seen in it" in faults("letter", whole)
    assert "no reference is seen in it" in faults("marks", whole)
    off = Painted(paper(210, 297, 520, 70), WHITE)
    cut_off = photo(tmp_path / "off.jpg", table(off, cut(PIECE)), above(10.0))
    assert "cuts it off" in faults("a4", cut_off)
    shaken = photo(tmp_path / "b.jpg", table(A4, cut(PIECE)), above(10.0), Spoiling(blur_px=4.0))
    assert "the photo is blurred" in faults("a4", shaken)
    alone = photo(tmp_path / "alone.jpg", table(A4), above(10.0))
    assert "no piece stands out" in faults("a4", alone)
    twice = Painted(paper(297, 210, 40, 190), WHITE)
    both = photo(tmp_path / "t.jpg", table(twice, A4), above(10.0))
    assert "two things in it could be the reference" in faults("a4", both)


def test_without_the_vision_library(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    path = photo(tmp_path / "photo.jpg", table(A4), above())
    monkeypatch.setitem(sys.modules, "cv2", None)
    assert "pip install 'marker[photo]'" in faults("a4", path)


@pytest.mark.parametrize("text", ["a9", "10", "1 mm", "20 m", "", "a4 letter"])
def test_what_is_no_reference(text: str) -> None:
    with pytest.raises(NotAReference):
        reference_named(text)
