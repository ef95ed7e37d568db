"""`marker import` and `marker export`."""

from __future__ import annotations

import json
from importlib import import_module
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner

from marker.cli import main
from tests.cli.commands import TWO_PIECES, job_file, laid, marker
from tests.exchange.exchange import assert_same_pieces, one_size

BARE = '<svg xmlns="http://www.w3.org/2000/svg"><path id="yoke" d="M 0 0 H 300 V 200 H 0 Z"/></svg>'


@pytest.mark.parametrize("kind", ["dxf", "svg"])
def test_a_job_goes_out_and_comes_in(kind: str, tmp_path: Path) -> None:
    from marker.jobfile.reading import read_job

    job = job_file(tmp_path, TWO_PIECES)
    result = marker("export", job, "--to", kind, "--out", tmp_path / "shared", "--json")
    assert result.exit_code == 0, result.output
    file = json.loads(result.stdout)["file"]
    result = marker("import", file, "--out", tmp_path / "again", "--width", "60 in")
    assert result.exit_code == 0, result.output
    assert "gusset: 18.0 × 26.0 cm (7 1/16 in × 10 1/4 in); cut 4, 2 mirrored" in result.output
    assert "one unit is 1 mm" in result.output
    again = tmp_path / "again" / "job.toml"
    assert_same_pieces(read_job(job), read_job(again))
    assert marker("check", again).exit_code == 0
    assert read_job(again).cloths[0].width_mm == pytest.approx(1524)
    assert "there is a job already" in marker("import", file, "--out", again.parent).output


def test_a_job_waits_for_the_width_of_its_cloth(tmp_path: Path) -> None:
    drawing, job = tmp_path / "yoke.svg", tmp_path / "a" / "job.toml"
    drawing.write_text(BARE)
    result = marker("import", drawing, "--out", job.parent, "--units", "mm")
    assert result.exit_code == 0, result.output
    assert f"First write the width and the nap of the cloth into {job}" in result.output
    said = f"every piece that was read is drawn in {job.parent / 'pieces.pdf'}"
    assert said in result.output.splitlines()[-1]
    assert (job.parent / "pieces.pdf").read_bytes().startswith(b"%PDF")
    for command in ("check", "lay"):
        refused = marker(command, job)
        assert refused.exit_code == 2
        assert "width: this is missing" in refused.output
    text = job.read_text()
    text = text.replace('# width = "150 cm"', 'width = "90 cm"')
    job.write_text(text)
    refused = marker("check", job)
    assert refused.exit_code == 2
    assert "'?' is not known here" in refused.output
    assert "'one way'" in refused.output
    job.write_text(text.replace('nap = "?"', 'nap = "one way"'))
    assert marker("check", job).exit_code == 0


THREE_SIZES = """
name = "choir skirt"
units = "mm"
size = "38"
sizes = ["36", "38", "40"]
[order]
"38" = 1
[cloth.twill]
width = "150 cm"
[[piece]]
name = "skirt"
points = [[0, 0], [{ by_size = { 36 = 290, 38 = 300, 40 = 312 } }, 0], [280, 600], [20, 600]]
allowance = "1 cm"
edges = { hem = [1, 2] }
notches = [{ edge = "hem", at = { by_size = { 36 = 90, 38 = 90, 40 = 99 } } }]
[[piece]]
name = "pocket"
points = [[0, 0], [120, 0], [120, 140], [0, 140]]
"""


@pytest.mark.parametrize("more", [[], ["--rules"]])
def test_sizes_go_out_and_come_in(more: list[str], tmp_path: Path) -> None:
    from marker.jobfile.reading import read_job

    job = tmp_path / "job.toml"
    job.write_text(THREE_SIZES)
    result = marker("export", job, "--to", "dxf", *more, "--out", tmp_path, "--json")
    assert result.exit_code == 0, result.output
    files = [name for name in map(json.loads(result.stdout).get, ("file", "rules")) if name]
    assert len(files) == 1 + len(more)
    again = tmp_path / "again"
    result = marker("import", *files, "--out", again, "--width", "150 cm")
    assert result.exit_code == 0, result.output
    assert "sizes 36, 38, 40, " + ("graded by" if more else "each drawn") in result.output
    assert "36: 60.0 × 29.0, 38: 60.0 × 30.0, 40: 60.0 × 31.2 cm" in result.output
    assert "the same in every size" in result.output
    read, made = read_job(job), read_job(again / "job.toml")
    for size in read.sizes:
        assert_same_pieces(one_size(read, size), one_size(made, size))


@pytest.mark.usefixtures("no_diagrams")
def test_a_layout_of_two_sizes_goes_out_and_comes_in(tmp_path: Path) -> None:
    """Its hem is deeper in one size than in the other, so that no allowance holds in both."""
    from marker.jobfile.reading import read_job

    deeper = 'allowances = { hem = { by_size = { 36 = "2 cm", 38 = "3 cm", 40 = "4 cm" } } }'
    text = THREE_SIZES.replace('allowance = "1 cm"', f'allowance = "1 cm"\n{deeper}')
    job = job_file(tmp_path, text.replace('"38" = 1', '"36" = 1\n"40" = 1'))
    laid(job, "--iterations", 0)
    result = marker("export", tmp_path / "out" / "layout.json", "--to", "svg")
    assert result.exit_code == 0, result.output
    again = tmp_path / "again"
    result = marker("import", tmp_path / "out" / "layout.svg", "--out", again, "--nap", "one way")
    assert result.exit_code == 0, result.output
    made = read_job(again / "job.toml")
    assert made.sizes == ("36", "40")
    for size, depth in (("36", 20), ("40", 40)):
        skirt = next(p for p in one_size(made, size).pattern.pieces if p.name == "skirt")
        allowances = [edge.allowance_mm for edge in skirt.edges.values()]
        assert max(filter(None, allowances)) == pytest.approx(depth, abs=1e-3)


def test_rules_are_for_sizes_of_a_job_as_dxf(tmp_path: Path) -> None:
    job = job_file(tmp_path, TWO_PIECES)
    result = marker("export", job, "--to", "dxf", "--rules", "--out", tmp_path / "a")
    assert result.exit_code == 1
    assert "comes in size" in result.output
    assert "Leave --rules out" in result.output
    assert marker("export", job, "--to", "svg", "--rules").exit_code == 2
    assert not (tmp_path / "a").exists()


@pytest.mark.usefixtures("no_diagrams")
def test_a_layout_is_judged_before_it_goes_out(tmp_path: Path) -> None:
    laid(job_file(tmp_path, TWO_PIECES), "--iterations", 0)
    path = tmp_path / "out" / "layout.json"
    for kind, name in (("dxf", "layout.dxf"), ("svg", "layout.svg"), ("pdf", "layout.pdf"),
                       ("hpgl", "layout.plt")):  # fmt: skip
        result = marker("export", path, "--to", kind)
        assert result.exit_code == 0, result.output
        assert (tmp_path / "out" / name).stat().st_size > 1000
    stored = json.loads(path.read_text())
    first, second = stored["placements"][:2]
    shift = np.subtract((first["x_mm"], first["y_mm"]), (second["x_mm"], second["y_mm"]))
    second["x_mm"], second["y_mm"] = first["x_mm"], first["y_mm"]
    second["outline_mm"] = (np.array(second["outline_mm"]) + shift).tolist()
    path.write_text(json.dumps(stored))
    result = marker("export", path, "--to", "pdf", "--out", tmp_path / "refused")
    assert result.exit_code == 1
    assert not (tmp_path / "refused").exists()


def test_a_missing_scale_is_asked_for(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    drawing = tmp_path / "yoke.svg"
    drawing.write_text(BARE)
    result = marker("import", drawing, "--out", tmp_path / "a")
    assert result.exit_code == 2
    assert "--units" in result.output
    assert not (tmp_path / "a").exists()
    result = marker("import", drawing, "--out", tmp_path / "a", "--units", "mm", "--json")
    assert result.exit_code == 0, result.output
    assert json.loads(result.stdout)["pieces"][0]["across_mm"] == 300
    monkeypatch.setattr(import_module("marker.cli.import_"), "_on_a_terminal", lambda: True)
    words = ["import", str(drawing), "--out", str(tmp_path / "b"), "--json"]
    result = CliRunner().invoke(main, words, input="furlong\n1/96 in\n")
    assert result.exit_code == 0, result.output
    assert json.loads(result.stdout)["pieces"][0]["across_mm"] == pytest.approx(79.375, abs=0.01)
    assert "7.62 m (300 in) if a unit is in" in result.stderr
    assert marker("import", drawing, "--out", tmp_path / "c", "--units", "0 mm").exit_code == 2
