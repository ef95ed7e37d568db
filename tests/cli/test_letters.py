"""Every command that draws says which letters no font has."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.cli.commands import job_file, marker
from tests.drawing.pdf_pages import pages_of
from tests.jobfile.writer import HEAD, SQUARE, piece, strip

RARE = "\U000102a0"  # a Carian letter: few machines have it


@pytest.mark.parametrize(
    "words",
    [
        ("bands", "JOB", "--out", "OUT"),
        ("lay", "JOB", "--iterations", "0", "--out", "OUT"),
    ],
    ids=lambda words: words[0],
)
def test_a_letter_without_a_font_is_told_of(tmp_path: Path, words: tuple[str, ...]) -> None:
    """Where the machine has no font for it, '?' stands on the page, and the command says so."""
    named = (
        HEAD + piece(SQUARE, name=f"front {RARE}") + strip('length = "60 cm"', name=f"tie {RARE}")
    )
    places = {"JOB": str(job_file(tmp_path, named)), "OUT": str(tmp_path)}
    given = [places.get(word, word) for word in words]
    done = marker(*given)
    assert done.exit_code == 0, done.output
    drawn = " ".join(
        page.extract_text()
        for path in tmp_path.glob("*.pdf")
        for page in pages_of(path.read_bytes())
    )
    assert ("?" in drawn) != (RARE in drawn)
    assert (f"no font of this machine has {RARE}" in done.stderr) == ("?" in drawn)
