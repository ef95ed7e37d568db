"""One browser for each file of tests that drives it."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest

from tests.web.browsing import browser


@pytest.fixture(scope="module")
def chrome() -> Iterator[Any]:
    with browser() as opened:
        yield opened
