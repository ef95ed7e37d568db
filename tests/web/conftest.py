"""One browser for each file of tests that drives it, and a desk for each test of one."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from tests.web.browsing import browser
from tests.web.table import Table


@pytest.fixture(scope="module")
def chrome() -> Iterator[Any]:
    with browser() as opened:
        yield opened


@pytest.fixture
def table(tmp_path: Path) -> Iterator[Table]:
    table = Table(tmp_path)
    yield table
    table.stop.set()
