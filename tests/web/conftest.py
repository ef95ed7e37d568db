"""One browser for each file of tests that drives it, with a folder of three jobs served, and a desk
for each test of one."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from tests.cli.commands import TWO_PIECES, job_file, marker
from tests.web.browsing import Server, Tab, browser, chromium, served, tab
from tests.web.table import Table

PIECES = Path(__file__).parents[2] / "pieces"
REMNANTS = """, remnant = [
  { name = "skirt", points = [[0, 0], [900, 0], [900, 400], [700, 600], [0, 600]] },
  { name = "end of roll", points = [[0, 0], [600, 0], [600, 400], [0, 400]] },
]"""


@pytest.fixture(scope="module")
def chrome() -> Iterator[Any]:
    with browser() as opened:
        yield opened


@pytest.fixture(scope="module")
def server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    chromium()
    folder = tmp_path_factory.mktemp("folder")
    shutil.copytree(PIECES / "choir-dress", folder / "dress")
    (folder / "small").mkdir()
    job_file(folder / "small", TWO_PIECES.replace("choir dress", "gussets"))
    (folder / "left").mkdir()
    text = TWO_PIECES.replace("choir dress", "from remnants")
    left = job_file(folder / "left", text.replace('"150 cm" }', f'"150 cm"{REMNANTS} }}'))
    out = folder / "outputs" / "from-remnants"
    assert marker("lay", left, "--iterations", 1, "--out", out, "--quiet").exit_code == 0
    with served(folder) as server:
        yield server


@pytest.fixture
def at(chrome: Any, server: Server) -> Iterator[Tab]:
    with tab(chrome, server) as opened:
        yield opened


@pytest.fixture
def table(tmp_path: Path) -> Iterator[Table]:
    table = Table(tmp_path)
    yield table
    table.stop.set()
