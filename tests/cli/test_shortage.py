"""`marker shortage` and a cloth of fixed length, by the commands alone."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from tests.cli.commands import job_file, marker
from tests.jobfile.writer import HEAD, piece

CORNERS = piece("points = [[0, 0], [400, 0], [0, 300]]", "cut = 2", "grain = 0", name="pennant")
ONE_WAY = HEAD.replace('width = "150 cm"', 'width = "30 cm", nap = "one way"') + CORNERS


def test_shortage_says_what_makes_it_fit(tmp_path: Path) -> None:
    job = job_file(tmp_path, ONE_WAY)
    done = marker("shortage", job, "--have", "45 cm", "--iterations", 2)
    assert done.exit_code == 0, done.output
    assert "short by 35 cm" in done.stdout
    assert "It fits, with 50 mm (2 in) to spare, if you" in done.stdout
    assert '[cloth.jersey] nap = "either way"' in done.stdout
    assert "as it is" in done.stderr


def test_shortage_as_json_and_its_exit_codes(tmp_path: Path) -> None:
    job = job_file(tmp_path, ONE_WAY)
    done = marker("shortage", job, "--have", "35 cm", "--iterations", 1, "--json", "--quiet")
    assert (done.exit_code, done.stderr) == (1, "")
    facts = json.loads(done.stdout)
    assert not facts["fits"]
    said = marker("shortage", job, "--have", "35 cm", "--iterations", 1, "--quiet").stdout
    assert "No set of changes fits. The nearest is short by 50 mm (2 in):\n  " in said
    assert facts["as_it_is"]["cannot_fit"]
    assert facts["best"]["spare_mm"] == pytest.approx(-50, abs=0.5)
    assert marker("shortage", job).exit_code == 2
    assert "How much jersey" in marker("shortage", job).stderr
    assert "no cloth 'tulle'" in marker("shortage", job, "--have", "1 m", "--cloth", "tulle").stderr


@pytest.mark.usefixtures("no_diagrams")
@pytest.mark.parametrize(
    ("have", "code", "answer", "words"),
    [
        ("90 cm", 0, "fits", "10 cm (3 15/16 in) to spare"),
        ("45 cm", 1, "impossible", "short by 35 cm (13 3/4 in); impossible"),
    ],
)
def test_lay_says_whether_it_fits(
    have: str, code: int, answer: str, words: str, tmp_path: Path
) -> None:
    text = ONE_WAY.replace('nap = "one way"', f'nap = "one way", have = "{have}"')
    job = job_file(tmp_path, text)
    words_given = ("lay", job, "--iterations", 3, "--out", tmp_path / "out")
    done = marker(*words_given)
    assert done.exit_code == code, done.output
    assert words in done.stdout
    assert (tmp_path / "out" / "layout.json").exists()
    facts = json.loads(marker(*words_given, "--json", "--quiet").stdout)
    assert facts["have"]["answer"] == answer
    assert ("marker shortage" in done.stderr) == bool(code)
