"""Running the commands in-process, on small jobs."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
from pathlib import Path
from typing import Any

from click.testing import CliRunner, Result

from marker.cli import main
from tests.jobfile.writer import HEAD, SQUARE, piece

TWO_PIECES = HEAD + piece(SQUARE, "cut = 3") + piece(
    "points = [[0, 0], [260, 0], [40, 180]]", "cut = 4", "pair = true", name="gusset"
)  # fmt: skip


PATIENCE_SECONDS = 600
"""For a command that is asked to end, on a machine that has much else to do."""


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


def interrupted(*words: object) -> dict[str, Any]:
    """What `marker WORDS` prints when Ctrl-C strikes once there is a first layout."""
    with subprocess.Popen(
        [sys.executable, "-m", "marker", *map(str, words)],
        stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
    ) as process:  # fmt: skip
        assert process.stderr is not None
        line = ""
        while "used" not in line:
            line = process.stderr.readline()
            assert line, "it ended by itself"
        os.kill(process.pid, signal.SIGINT)
        out, _ = process.communicate(timeout=PATIENCE_SECONDS)
    assert process.returncode == 130
    return dict(json.loads(out))
