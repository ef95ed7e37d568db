"""`marker import --reference` and `marker print --reference`, as a person runs them."""

from __future__ import annotations

from pathlib import Path

import cv2
import numpy as np
import pypdfium2
import pytest
import shapely

from tests.cli.commands import marker
from tests.exchange.photo.camera import Painted, Spoiling, photographed
from tests.exchange.photo.scenes import WHITE, Ground, band, ground_of, looking_at, pocket

ROOM = (600.0, 430.0)


@pytest.fixture(scope="module")
def photo(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A band of 10 × 30 cm and a pocket beside a sheet of A4."""
    rng = np.random.default_rng(1)
    pieces = [band(100, 300).placed(0, 180, 90), pocket(150, 160).placed(0, 120, 300)]
    shapes = [*(shapely.Polygon(p.outline) for p in pieces), shapely.box(370, 70, 580, 367)]
    painted = [*ground_of(Ground.BROWN, ROOM, rng), *(Painted(shape, WHITE) for shape in shapes)]
    path = tmp_path_factory.mktemp("photo") / "pieces.jpg"
    camera = looking_at(ROOM, (1600, 1200), rng, 12.0, 0.02)
    path.write_bytes(photographed(camera, painted, Spoiling(), 1))
    return path


def test_a_job_with_its_picture_to_check_by(photo: Path, tmp_path: Path) -> None:
    out = tmp_path / "job"
    command = ["import", str(photo), "--reference", "a4", "--out", str(out), "--width", "150cm"]
    done = marker(*command, "--nap", "either way", "--names", "pocket,cuff", "--fold", "2.1")
    assert done.exit_code == 0, done.output
    assert "one pixel is 0." in done.output
    assert "the reference fits to 0." in done.output
    assert "First write the grain of pocket into" in done.output
    assert "the grain of cuff: along its fold" in done.output
    assert cv2.imread(str(out / "photo-1-found.jpg")) is not None
    job = out / "job.toml"
    checked = marker("check", str(job))
    assert checked.exit_code == 2
    assert "piece 1 (pocket), grain" in checked.output
    job.write_text(job.read_text().replace('grain = "?"', "grain = 90"))
    assert marker("check", str(job)).exit_code == 0


def test_nothing_is_written_where_a_photo_cannot_be_used(photo: Path, tmp_path: Path) -> None:
    out = tmp_path / "job"
    for words, said in (
        (["--reference", "marks"], "no reference is seen in it"),
        (["--reference", "a4", "--names", "one"], "2 pieces and 1 name"),
        (["--reference", "a9"], "there is no reference called 'a9'"),
        (["--reference", "a4", "--fold", "2"], "write piece and edge, such as 2.3"),
        (["--reference", "a4", "--units", "mm"], "photos get their scale from --reference"),
        (["--lines"], "go with photos"),
        ([], "a photo is read with the help of something of known size in it"),
    ):
        done = marker("import", str(photo), "--out", str(out), *words)
        assert done.exit_code == 2
        assert said in " ".join(done.output.split())
        assert not out.exists()


def test_printed_sheets_are_those_that_are_read(tmp_path: Path) -> None:
    """Markers 60 mm wide, 120 mm and 95 mm apart, found where they are printed."""
    path = tmp_path / "sheets.pdf"
    done = marker("print", "--reference", "--paper", "letter", "--out", str(path))
    assert done.exit_code == 0, done.output
    with pypdfium2.PdfDocument(path) as pages:
        assert len(pages) == 8
        picture = pages[2].render(scale=100 / 72).to_numpy()[:, :, :3]
    book = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_4X4_50)
    corners, numbers, _ = cv2.aruco.ArucoDetector(book).detectMarkers(picture)
    found = {int(k): quad[0] * 0.254 for quad, k in zip(corners, np.ravel(numbers), strict=True)}
    assert sorted(found) == list(range(12, 18))
    for number, quad in found.items():
        row, column = divmod(number - 12, 2)
        left, top = (215.9 - 180) / 2 + 120 * column, (279.4 - 250) / 2 + 95 * row
        known = np.array([[0, 0], [60, 0], [60, 60], [0, 60]]) + np.array([left, top])
        assert np.abs(quad - known).max() < 0.5
    assert marker("print", "--reference", "--paper", "a0").exit_code == 2
    assert marker("print", "--paper", "a4").exit_code == 2
