"""Running the commands in-process, on small jobs."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from click.testing import CliRunner, Result

from marker.cli import main
from tests.files.writer import HEAD, SQUARE, piece

TWO_PIECES = HEAD + piece(SQUARE, "cut = 3") + piece(
    "points = [[0, 0], [260, 0], [40, 180]]", "cut = 4", "pair = true", name="gusset"
)  # fmt: skip


def marker(*words: object) -> Result:
    """The outcome of `marker WORDS`."""
    return CliRunner().invoke(main, [str(word) for word in words])


def job_file(folder: Path, text: str) -> Path:
    path = folder / "job.toml"
    path.write_text(text, encoding="utf-8")
    return path


def laid(job: Path, *words: object) -> dict[str, Any]:
    """What `marker lay JOB --json` prints, beside the job in the folder 'out'."""
    result = marker("lay", job, "--json", "--out", job.parent / "out", *words)
    assert result.exit_code == 0, result.output
    return dict(json.loads(result.stdout))
