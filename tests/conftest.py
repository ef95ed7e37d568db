"""What holds for every test: the same examples and as many workers on any machine, so that a commit
passes or does not."""

from __future__ import annotations

import os
import signal
from collections.abc import Iterator

import pytest
from hypothesis import settings

settings.register_profile("check", settings.get_profile("ci"), max_examples=40)


@pytest.fixture(scope="session", autouse=True)
def _two_cores() -> Iterator[None]:
    """Two cores, whatever the machine has: a layout depends on its workers."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(os, "sched_getaffinity", lambda _: {0, 1}, raising=False)
        yield


@pytest.fixture(scope="session", autouse=True)
def _ctrl_c_is_heard() -> None:
    """Here and in what is started, also where a shell runs the tests in the background."""
    signal.signal(signal.SIGINT, signal.default_int_handler)
