"""`marker new --garment`: a job that can be laid as it is, and faults that write nothing."""

from __future__ import annotations

import csv
import json
from pathlib import Path

import pytest
from pypdf import PdfReader

from marker.blocks.catalogue import GARMENTS
from marker.errors import FaultyInput
from marker.jobfile.demand import read_demand
from marker.jobfile.reading import read_job
from marker.units import Show, System
from tests.cli.commands import laid, marker


@pytest.mark.usefixtures("no_diagrams")
def test_a_garment_by_measures_lays_as_it_is(tmp_path: Path) -> None:
    folder = tmp_path / "skirt"
    made = marker(
        "new", folder, "--garment", "half circle skirt", "--waist", "74 cm", "--length=60 cm"
    )
    assert made.exit_code == 0, made.output
    text = (folder / "job.toml").read_text(encoding="utf-8")
    assert "waist 74" in text
    assert laid(folder / "job.toml", "--iterations", 2)["length_mm"] > 1000


def test_what_comes_in_no_sizes_names_none(tmp_path: Path) -> None:
    assert marker("new", tmp_path / "bag", "--garment", "tote").exit_code == 0
    job = tmp_path / "bag" / "job.toml"
    job.write_text(job.read_text(encoding="utf-8").replace('"one size" = 1', '"one size" = 2'))
    done = marker("lay", job, "--iterations", 0, "--out", tmp_path / "out", "--quiet")
    assert "garments 1 to 2, each: 2 bag, 2 handle" in done.stdout, done.output
    files = [tmp_path / "out" / name for name in ("diagram.svg", "cutting-sheet.html")]
    told = [file.read_text(encoding="utf-8") for file in files]
    told += [done.stdout, marker("check", job).stdout, marker("bands", job, "--json").stdout]
    assert all("size one size" not in each for each in told)
    assert all("one size" not in each for each in told[:-1])


def test_an_order_of_what_comes_in_no_sizes_counts_garments(tmp_path: Path) -> None:
    assert marker("new", tmp_path / "bag", "--garment", "tote").exit_code == 0
    table, out = tmp_path / "order.csv", tmp_path / "out"
    table.write_text("colour,quantity\nred,2\nblue,1\n", encoding="utf-8")
    words = ("--max-garments", 2, "--iterations", 0, "--workers", 1, "--out", out)
    done = marker("order", tmp_path / "bag" / "job.toml", "--demand", table, *words)
    assert done.exit_code == 0, done.output
    assert "ordered in red: 2 garments\n" in done.stdout
    assert "laid 1 garment: " in done.stderr
    assert f"wrote  {out}: plan.csv and to-buy.csv, " in done.stdout
    with (out / "plan.csv").open(encoding="utf-8", newline="") as file:
        (head, *rows) = csv.reader(file)
    assert head[:6] == ["cloth", "lay", "marker", "garments in the marker", "plies red",
                        "plies blue"]  # fmt: skip
    cut = sum(int(row[3]) * (int(row[4]) + int(row[5])) for row in rows)
    assert cut == 3
    sheets = [PdfReader(each).pages for each in out.glob("*.pdf")]
    texts = [page.extract_text() for pages in sheets for page in pages]
    drawn = [each.read_text(encoding="utf-8") for each in out.glob("*.svg")]
    assert sheets
    assert all("one size" not in each for each in [done.output, *texts, *drawn])


@pytest.mark.parametrize("order", ["3", "red: 3", "one size=3", "Garments=3"])
def test_an_order_of_what_comes_in_no_sizes_is_a_number(tmp_path: Path, order: str) -> None:
    assert marker("new", tmp_path / "bag", "--garment", "tote").exit_code == 0
    job = read_job(tmp_path / "bag" / "job.toml")
    (counts,) = read_demand("--demand", [order], job).values()
    assert counts == {"one size": 3}
    with pytest.raises(FaultyInput, match="no number of garments"):
        read_demand("--demand", ["red: three"], job)
    with pytest.raises(FaultyInput, match="no size 'M'"):
        read_demand("--demand", ["M=3"], job)


def test_a_garment_by_inches_shows_inches(tmp_path: Path) -> None:
    folder = tmp_path / "skirt"
    inches = ("--waist", "29 in", "--length", "24 in")
    made = marker("new", folder, "--garment", "a-line skirt", *inches)
    assert made.exit_code == 0, made.output
    text = (folder / "job.toml").read_text(encoding="utf-8")
    assert "body in inches: waist 29, " in text
    assert text.count('sold_by = "1/8 yd"') == 2
    assert "# Chosen: length 24 in." in text
    assert read_job(folder / "job.toml").show == Show(System.IMPERIAL, both=False)


def test_a_measure_without_a_garment(tmp_path: Path) -> None:
    made = marker("new", tmp_path / "skirt", "--waist", "29 in")
    assert made.exit_code == 2
    assert "--waist belongs to a garment. Give --garment, too." in made.output
    assert not (tmp_path / "skirt").exists()


def test_a_garment_in_several_sizes(tmp_path: Path) -> None:
    folder = tmp_path / "skirt"
    made = marker(
        "new", folder, "--garment", "full circle skirt", "--sizes", "40,36,38", "--size", "38"
    )
    assert made.exit_code == 0, made.output
    job = read_job(folder / "job.toml")
    assert (job.size, job.sizes) == ("38", ("36", "38", "40"))
    assert job.order == {"36": 1, "38": 1, "40": 1}
    assert "one garment of each size" in made.stdout
    assert marker("check", folder / "job.toml").exit_code == 0


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--waist", "740 cm"), ("--waist '740 cm'", "cannot be a body's", "mean '740 mm'")),
        (("--waist", "74"), ("no unit", "mean '74 cm'")),
        (("--waist", "x" * 500), ("is not a length",)),
        (("--wiast", "74 cm"), ("no measure or option 'wiast'", "mean 'waist'")),
        (("--waist", "100 cm", "--hip", "60 cm"), ("no body has waist", "With that hip")),
        (("--waist", "74 cm", "--length", "6 m"), ("6.00 m cannot be drafted",)),
        (("--waist", "74 cm", "--panels", "2.5"), ("whole number from 1 to 8",)),
        (("--waist", "74 cm", "--hip", "140 cm", "--size", "37"), ("no size '37'",)),
        (("--waist", "74 cm", "--sizes", "36,38"), ("those of one body",)),
        (("--sizes", "36,38", "--size", "40"), ("'40' is not one of the sizes",)),
        (("--waist",), ("--waist needs a value",)),
        (("--waist", "74 cm", "--waist", "75 cm"), ("is there twice",)),
        ((), ("it needs the body's waist", "--size 38")),
    ],
)
def test_faults_say_where_and_what_and_write_nothing(
    tmp_path: Path, words: tuple[str, ...], said: tuple[str, ...]
) -> None:
    result = marker("new", tmp_path / "skirt", "--garment", "quarter circle skirt", *words)
    assert result.exit_code == 2
    assert all(part in result.stderr for part in said), result.stderr
    assert list(tmp_path.iterdir()) == []


def test_a_garment_that_is_not_there(tmp_path: Path) -> None:
    result = marker("new", tmp_path / "bag", "--garment", "toat")
    assert result.exit_code == 2
    assert "mean 'tote'" in result.stderr
    assert list(tmp_path.iterdir()) == []


def test_drawings_that_are_there_stay(tmp_path: Path) -> None:
    folder = tmp_path / "bag"
    folder.mkdir()
    (folder / "pattern.svg").write_text("mine", encoding="utf-8")
    result = marker("new", folder, "--garment", "tote")
    assert result.exit_code == 2
    assert [path.read_text(encoding="utf-8") for path in folder.iterdir()] == ["mine"]


def test_sizes_without_a_garment(tmp_path: Path) -> None:
    assert marker("new", tmp_path / "skirt", "--size", "38").exit_code == 2
    assert marker("new", tmp_path / "skirt", "--waist", "74 cm").exit_code == 2
    assert marker("new").exit_code == 2
    assert list(tmp_path.iterdir()) == []


def test_the_list_of_garments_names_all_of_them(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    text, data = marker("new", "--garments"), marker("new", "--garments", "--json")
    assert [each["name"] for each in json.loads(data.stdout)["garments"]] == list(GARMENTS)
    assert all(name in text.stdout for name in GARMENTS)
    assert "--waist-to-hip" in text.stdout
    assert list(tmp_path.iterdir()) == []


def test_the_list_of_garments_with_their_pictures(tmp_path: Path) -> None:
    """Every garment is named on the page; a person's own picture of that name stays."""
    drawn = marker("new", "--garments", "--out", tmp_path / "garments")
    assert drawn.exit_code == 0, drawn.output
    page = (tmp_path / "garments" / "garments.svg").read_text(encoding="utf-8")
    assert all(f">{name}<" in page for name in GARMENTS)
    assert str(tmp_path / "garments" / "garments.pdf") in drawn.stdout
    own = tmp_path / "own" / "garments.png"
    own.parent.mkdir()
    own.write_bytes(b"mine")
    assert marker("new", "--garments", "--out", own.parent).exit_code == 2
    assert own.read_bytes() == b"mine"


def test_a_folder_for_pictures_needs_garments_to_draw(tmp_path: Path) -> None:
    result = marker("new", tmp_path / "skirt", "--out", tmp_path / "elsewhere")
    assert result.exit_code == 2
    assert "--out needs --garments" in result.stderr
    assert list(tmp_path.iterdir()) == []
