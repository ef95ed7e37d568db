"""marker lay --spread: named, the best, and refused; read back and judged."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from tests.cli.commands import job_file, laid, marker
from tests.jobfile.writer import HEAD, piece

GUSSET = "points = [[0, 0], [260, 0], [40, 180]]"
TOPS = HEAD + piece(
    "points = [[0, 0], [200, 0], [200, 300], [0, 340]]", "fold = [4, 1]", name="front"
)
TOPS += piece(GUSSET, "cut = 2", "pair = true", name="gusset") + piece(GUSSET, name="patch")

WIDTH = 'width = "150 cm"'
ONE_WAY = (WIDTH, f'{WIDTH}, nap = "one way"')


@pytest.mark.usefixtures("no_diagrams")
def test_best_compares_every_way_and_writes_the_shortest(tmp_path: Path) -> None:
    text = TOPS.replace(*ONE_WAY)
    job = job_file(tmp_path, text)
    layout = laid(job, "--iterations", 0, "--spread", "best")
    ways = {each["spread"]: each for each in layout["spreads"]}
    assert list(ways) == [
        "open", "folded lengthwise", "double fold", "folded crosswise", "cut and turned"
    ]  # fmt: skip
    laid_ways = [each for each in ways.values() if each["why_not"] is None]
    assert layout["length_mm"] == min(each["length_mm"] for each in laid_ways)
    assert ways[layout["cloth"]["spread"]]["length_mm"] == layout["length_mm"]
    assert all(ways["open"]["length_mm"] <= each["length_mm"] for each in laid_ways)
    lengthwise = ways["folded lengthwise"]
    assert (lengthwise["pieces"], ways["open"]["cuts"]) == (4, 4)
    assert lengthwise["cuts"] == 3
    judged = marker("judge", tmp_path / "out" / "layout.json")
    assert judged.exit_code == 0, judged.output


@pytest.mark.usefixtures("no_diagrams")
def test_nothing_is_called_proven_that_the_bound_does_not_prove(tmp_path: Path) -> None:
    """Two stretches, either of them proven shortest by itself; the bound knows all pieces' area."""
    layout = laid(job_file(tmp_path, TOPS), "--iterations", 2, "--spread", "folded crosswise")
    area = layout["utilisation"] * layout["length_mm"]
    assert layout["length_mm"] > layout["length_lower_bound_mm"] + 0.5
    assert layout["length_lower_bound_mm"] >= area * (1 - 1e-5)
    assert layout["stopped_because"] == "this way to cut it is proven shortest"


@pytest.mark.usefixtures("no_diagrams")
def test_the_comparison_in_words_with_what_is_refused(tmp_path: Path) -> None:
    text = TOPS.replace(*ONE_WAY)
    told = marker(
        "lay", job_file(tmp_path, text), "--iterations", 0, "--spread", "best", "--out",
        tmp_path / "out",
    )  # fmt: skip
    assert told.exit_code == 0, told.output
    assert "Lay it 'cut and turned'" in told.stdout
    assert "<- least cloth, written" in told.stdout


@pytest.mark.usefixtures("no_diagrams")
@pytest.mark.parametrize(
    "name", ["folded lengthwise", "double fold", "folded crosswise", "cut and turned"]
)
def test_a_spread_by_name_is_stored_and_judged_again(tmp_path: Path, name: str) -> None:
    job = job_file(tmp_path, TOPS)
    layout = laid(job, "--iterations", 0, "--spread", name)
    assert layout["cloth"]["spread"] == name
    assert layout["folding"]["two_ply_mm"] > 0
    stored = tmp_path / "out" / "layout.json"
    judged = marker("judge", stored, "--json")
    assert json.loads(judged.stdout) == {"clean": True, "job_changed": False, "findings": []}
    raw = json.loads(stored.read_text())
    raw["folding"]["two_ply_mm"] -= 5
    stored.write_text(json.dumps(raw))
    again = marker("judge", stored, "--json")
    assert again.exit_code == 1
    assert not json.loads(again.stdout)["clean"]


def test_a_spread_that_is_unknown_or_impossible_is_refused(tmp_path: Path) -> None:
    job = job_file(tmp_path, TOPS)
    unknown = marker("lay", job, "--spread", "folded lenghtwise")
    assert unknown.exit_code == 2
    assert "Did you mean 'folded lengthwise'" in unknown.stderr
    tube = marker("lay", job, "--spread", "tube")
    assert tube.exit_code == 1
    assert "is no tube" in tube.stderr
    single = job_file(tmp_path, HEAD + piece(GUSSET))
    alone = marker("lay", single, "--spread", "folded lengthwise")
    assert alone.exit_code == 1
    assert "no piece can be cut as a pair" in alone.stderr


def test_faulty_spreads_in_a_job(tmp_path: Path) -> None:
    for keys, said in (
        ('spread = "tube"', "is no tube"),
        ('tube = true, spread = "open"', "is a tube"),
        ('nap = "one way", spread = "folded crosswise"', "runs back on the lower ply"),
        ('tube = { crease = "80 cm" }', "leave little of a tube"),
        ('tube = true, selvage = "1 cm"', "a tube has no selvages"),
        ("tube = 3", "a table is expected"),
    ):
        text = TOPS.replace(WIDTH, f"{WIDTH}, {keys}")
        told = marker("check", job_file(tmp_path, text))
        assert told.exit_code == 2, keys
        assert said in told.stderr, keys


@pytest.mark.usefixtures("no_diagrams")
def test_the_comparison_says_where_an_earlier_layout_stays(tmp_path: Path) -> None:
    job, out = job_file(tmp_path, TOPS.replace('"38" = 1', '"38" = 2')), tmp_path / "out"
    words = ("lay", job, "--out", out, "--spread")
    assert marker(*words, "best", "--iterations", 10).exit_code == 0
    before = (out / "layout.json").read_bytes()
    told = marker(*words, "best", "--iterations", 0)
    assert (out / "layout.json").read_bytes() == before
    assert "<- least cloth, kept beside; the earlier layout stays" in told.stdout
    assert "written" not in told.stdout


@pytest.mark.parametrize(
    ("width", "options", "problem", "remedy", "lines"),
    [
        ("30 cm", ["--spread", "folded lengthwise"], "on the ply below", "one ply",
         ["cloth.jersey", "match 1 (side)"]),
        ("30 cm", ["--spread", "folded crosswise"], "runs back", "one ply",
         ["cloth.jersey", "match 1 (side)"]),
        ("25 cm", [], "front finds no place across jersey", "Move it",
         ["piece 1 (front)", "piece 2 (back)", "match 1 (side)"]),
        ("21 cm", [], "front needs 24 cm", "would do", ["piece 1 (front)", "piece 2 (back)"]),
    ],
)  # fmt: skip
def test_what_can_not_be_laid_is_told_with_its_places_in_the_job(
    tmp_path: Path, width: str, options: list[str], problem: str, remedy: str, lines: list[str]
) -> None:
    edges = "edges = { side = [2, 3] }"
    side = "points = [[0, 0], [100, 0], [100, 240], [0, 240]]"
    text = HEAD.replace("150 cm", width).replace("width", 'repeat.across = "9 cm", width')
    text += "".join(piece(side, edges, "grain = 0", name=name) for name in ("front", "back"))
    text += '\n[[match]]\nname = "side"\npoints = ["front.side at 3 cm", "back.side at 3 cm"]\n'
    job = job_file(tmp_path, text + 'at = { across = "1 cm" }\n')
    told = marker("lay", job, "--iterations", 0, "--out", tmp_path / "out", *options)
    assert told.exit_code == 1
    assert problem in told.stderr
    assert remedy in told.stderr
    written = job.read_text().splitlines()
    *_, where = told.stderr.splitlines()
    assert where.startswith("See ")
    places = where.removeprefix("See ").removesuffix(".").split("; ")
    assert [place.rpartition(": ")[2] for place in places] == lines
    for place in places:
        line = int(place.removeprefix(f"{job}:").partition(":")[0])
        key, name = "cloth.jersey", "jersey"
        if "(" in place:
            key, name = f"[[{place.rpartition(': ')[2].split()[0]}]]", place[-6:-1].strip("( ")
        assert key in written[line - 1]
        assert name in "".join(written[line - 1 : line + 1])


@pytest.mark.usefixtures("no_diagrams")
def test_cuffs_are_cut_through_both_plies_of_a_napped_tube(tmp_path: Path) -> None:
    """A ring sewn across the grain is like its mirror image: both ends of its join are notched."""
    text = HEAD.replace(WIDTH, 'width = "40 cm", tube = true, nap = "one way"') + piece(
        'shape = { kind = "rectangle", width = 200, height = 100 }',
        'line = "stitching line"',
        "edges = { wrist = [1, 2] }",
    )
    text += '[[opening]]\nname = "wrist"\nedges = ["front.wrist"]\n'
    text += '[[strip]]\nname = "cuff"\nfinishes = "wrist"\nratio = 0.9\nwidth = "10 cm"\ncut = 2\n'
    said = laid(job_file(tmp_path, text), "--iterations", 0)
    assert said["cloth"]["spread"] == "tube"
    cuffs = [place for place in said["placements"] if place["piece"] == "cuff"]
    assert len(cuffs) == 2
    assert len({place["x_mm"] for place in cuffs}) == 1, "one lies on the other"
