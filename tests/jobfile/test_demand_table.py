"""An order as a file: what is accepted, and where each fault stands."""

from __future__ import annotations

from pathlib import Path

import pytest

from marker.errors import FaultyInput
from marker.job import Job
from marker.jobfile.demand import MOST_NAMES
from marker.jobfile.demand_table import DemandFile, read_demand_table
from tests.jobfile.writer import HEAD, SQUARE, job, piece

TWO = {"red": {"S": 3, "M": 4}, "blue": {"M": 5}}


@pytest.fixture(scope="module")
def sashes(tmp_path_factory: pytest.TempPathFactory) -> Job:
    """A job of sizes S and M, with rolls in red and night blue."""
    head = HEAD.replace('"38"', '"S"', 1).replace('"38" = 1', '"S" = 1')
    rolls = '150 cm", rolls = { red = ["5 m"], "night blue" = ["5 m"] }'
    text = 'sizes = ["S", "M"]\n' + head.replace('150 cm" }', rolls + " }")
    return job(tmp_path_factory.mktemp("job"), text + piece(SQUARE))


def table(folder: Path, content: str | bytes) -> DemandFile:
    path = folder / "order.csv"
    path.write_bytes(content.encode() if isinstance(content, str) else content)
    return DemandFile(path)


@pytest.mark.parametrize(
    "content",
    [
        ",S,M\nred,3,4\nblue,0,5\n",
        "colour,S,M\r\nred,3,4\r\nblue,,5\r\n",
        "colour;S;M\nred;3;4\nblue;;5",
        "sep=;\r\ncolour;S;M\r\nred;3;4\r\nblue;;5\r\n",
        '"sep=|"\ncolour|S|M\nred|3|4\nblue||5\n',
        "colour\tS\tM\nred\t3\t4\nblue\t\t5\t\t\n",
        '\n"colour","S","M",\n"red"," 3 ","4",\n,,,\n"blue",,5,\n',
        "\ufeffcolour,S,M\nred,3,4\nblue,0,5\n",
        "\ufeffcolour\tS\tM\nred\t3\t4\nblue\t0\t5\n".encode("utf-16-le"),
    ],
)  # fmt: skip
def test_size_columns_and_colour_rows(content: str | bytes, tmp_path: Path) -> None:
    found = read_demand_table(table(tmp_path, content))
    assert {c: {k: v for k, v in sizes.items() if v} for c, sizes in found.items()} == TWO


@pytest.mark.parametrize(
    "content",
    [
        "Spring order;;;\n\nColour;;S;M;;Total\nred;;3;4,0;;7\nblue;;;5;;5\nTotal;;3;9;;12\n"
        "Ask the wardrobe;;;;;\n",
        "Our order\n,S,M\nred,3.0,4\nblue,,5.00\ngreen,,\nSubtotal,3,\n",
    ],
)
def test_titles_notes_blank_columns_and_totals_that_agree_are_left_out(
    content: str, sashes: Job, tmp_path: Path
) -> None:
    known = content.replace("blue", "night blue")
    for written, of in ((content, None), (known, sashes)):
        found = read_demand_table(table(tmp_path, written), of)
        assert [{k: v for k, v in sizes.items() if v} for sizes in found.values()] == [
            *TWO.values()
        ]


@pytest.mark.parametrize(
    "content",
    ["size,count\nS,3\nM,4\n", "S;3\nM;4\n", "Größe;Anzahl\nS;3\nM;4\n", "garments,S,M\n,3,4\n"],
)
def test_one_colour(content: str, tmp_path: Path) -> None:
    assert read_demand_table(table(tmp_path, content)) == {"": {"S": 3, "M": 4}}


def test_two_columns_of_a_job_may_be_colours_and_a_size(sashes: Job, tmp_path: Path) -> None:
    found = read_demand_table(table(tmp_path, "x,S\nred,3\nNight-Blue,2\n"), sashes)
    assert found == {"red": {"S": 3}, "night blue": {"S": 2}}


def faults(file: DemandFile, of: Job | None) -> list[str]:
    with pytest.raises(FaultyInput) as caught:
        read_demand_table(file, of)
    return [str(fault).removeprefix(str(file.path)) for fault in caught.value.faults]


@pytest.mark.parametrize(
    ("content", "where", "what"),
    [
        (",S,M,XL\nred,3,4,1\n", ":1: column D (XL)", "no size 'XL'"),
        (",S,M\nred,3,4\nred,1,1\n", ":3: column A (red)", "'red' is there twice"),
        (",S,M\nred,3,4\nRed,1,1\n", ":3: column A (Red)", "twice, also as 'red'"),
        (",S,S\nred,3,4\n", ":1: column C (S)", "size 'S' is there twice"),
        ("size,count\nS,3\nS,4\n", ":3: column B (S)", "size 'S' is there twice"),
        (",S,\nred,3,4\n", ":2: column C", "no size is named"),  # a merged heading
        (",S,M\nred,3,4\n,1,1\n", ":3: column A", "no colour is named"),  # a merged colour
        ("colour;S;M\nred;3,5;4\n", ":2: column B (S)", "'3,5' is no number"),
        (",S,M\nred,3,5,4\n", ":2: column D", "no size is named"),  # a comma inside a number
        (",S,M\nred,-3,4\n", ":2: column B (S)", "'-3' is no number"),
        (",S,M\nred,3,2.5\n", ":2: column C (M)", "'2.5' is no number"),
        (",S,M\nred,3,1 200\n", ":2: column C (M)", "'1 200' is no number"),
        (",S,M,Total\nred,3,4,8\n", ":2: column D (total)", "says 8, and what is counted makes 7"),
        (",S,M\nred,3,4\nsum,3,5\n", ":3: column C (total)", "says 5, and what is counted makes 4"),
        (",S,M,sum\nred,3,4,7\nsum,3,4,9\n", ":3: column D (total)", "what is counted makes 7"),
        ("size,count\nS,3\nM,4\nTotal,8\n", ":4: column B (total)", "what is counted makes 7"),
        (",S,M\nred,3,4.000\n", ":2: column C (M)", "'4.000' is no number"),
        (",S,M\nred,3,4\ngreen,3,4\n", ":3: column A (green)", "no rolls in green"),
        ("S M\nred 3 4\n", ":1: column A", "one column only"),
        (",S,M\nr\xf6d,3,4\n".encode("latin-1"), ":2", "column A is not UTF-8 text"),
        (',S,M\n"red,3,4\n', ":2", "quotation mark"),
        ("sep=;\n;S;M\nred;3;x\n", ":3: column C (M)", "'x' is no number"),
        ("Our order,1\n,S,M\nred,3,4\n", ":1: column B (1)", "no size '1'"),
        (",,S,M\n,red,3,4\n", ":1: column A", "nothing stands in the first column"),
        (",S,M\nred,3,4\n".encode("utf-16-le"), ":1", "not UTF-8 text"),
        ("", "", "the file is empty"),
        ("sep=;\n", "", "the file is empty"),
        (",S,M\nred,0,\n", "", "no garment is ordered"),
        (",S,M\nred,100001,\n", "", "at most 100000"),
        (b"PK\3\4rest", "", "damaged"),
        ("S,M\n3,4\n", ":1: column A (S)", "'colour,S,...'"),
        ("S,M\nM,4\n", ":1: column A (S)", "size 'S' stands where the colours are headed"),
        (b",S,M\nred,3,4\0\n", ":2: column C (M)", "is no number"),
    ],
)  # fmt: skip
def test_each_fault_has_line_column_and_remedy(
    content: str | bytes, where: str, what: str, sashes: Job, tmp_path: Path
) -> None:
    told = faults(table(tmp_path, content), sashes)
    assert any(each.startswith(f"{where}: ") and what in each for each in told), told


@pytest.mark.parametrize("content", ["36,38,40\n3,4,5\n", "36;38\n3;4\n"])
def test_no_size_is_taken_for_a_heading(content: str, tmp_path: Path) -> None:
    """Sizes of nobody's job, and no column of colours: the first size would be lost."""
    (told,) = faults(table(tmp_path, content), None)
    assert told.startswith(":1: column A (36): size '36' stands where")
    assert read_demand_table(table(tmp_path, "36,3\n38,4\n40,5\n")) == {
        "": {"36": 3, "38": 4, "40": 5}
    }


def test_sizes_in_words_above_one_row_are_no_heading(tmp_path: Path) -> None:
    """Of nobody's job 'S,M' may be sizes or heads: 4 garments of a size '3' would be planned."""
    (told,) = faults(table(tmp_path, "S,M\n3,4\n"), None)
    assert told.startswith(":1: column A: 'S' may be a size, or head a column")
    assert read_demand_table(table(tmp_path, "size,count\n36,4\n")) == {"": {"36": 4}}


def test_every_fault_is_told(sashes: Job, tmp_path: Path) -> None:
    told = faults(table(tmp_path, ",S,XL\nred,-1,2\nred,x,y\n"), sashes)
    assert len(told) == 5  # XL, red twice, three numbers


def test_no_file_and_too_many_sizes(tmp_path: Path) -> None:
    assert "no such file" in faults(DemandFile(tmp_path / "none.csv"), None)[0]
    many = ",".join(f"s{k}" for k in range(MOST_NAMES + 1))
    told = faults(table(tmp_path, f",{many}\nred,1\n"), None)
    assert f"{MOST_NAMES + 1} sizes are more than" in told[0]


def test_of_too_many_colours_those_beyond_are_not_compared(tmp_path: Path) -> None:
    """Each with each: of 100,000 that takes minutes."""
    rows = "".join(f"c{k},1,2\n" for k in range(MOST_NAMES))
    (told,) = faults(table(tmp_path, f",S,M\n{rows}red,1,2\nRed,1,2\n"), None)
    assert f"{MOST_NAMES + 2} colours are more than" in told


@pytest.mark.parametrize(
    ("text", "file"),
    [
        ("S=3,M=4", None), ("red: S=3", None), ("S300", None), ("a.b=3", None), ("job.toml", None),
        ("order.csv", ("order.csv", None)), ("Order.XLSX", ("Order.XLSX", None)),
        ("a#b.ods", ("a#b.ods", None)), ("order.ods#March #2", ("order.ods", "March #2")),
        ("order.xlsx#March.csv", ("order.xlsx", "March.csv")),
    ],
)  # fmt: skip
def test_what_is_taken_for_a_file(text: str, file: tuple[str, str | None] | None) -> None:
    assert DemandFile.named(text) == (file and DemandFile(Path(file[0]), file[1]))
