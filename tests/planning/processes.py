"""A scheduler of dask.distributed and its workers, as they are started in a terminal."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import time
from collections.abc import Callable, Mapping
from pathlib import Path

import pytest

from marker.errors import CannotBeDone
from marker.planning import cluster, cluster_places

WAIT_SECONDS = 300.0
"""What is waited for comes in seconds, unless the machine has much else to do."""


class Processes:
    """One scheduler, and workers of it as they are asked for."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        file = folder / "scheduler.json"
        words = ("scheduler", "--host", "127.0.0.1", "--port", "0", "--scheduler-file", str(file))
        self.scheduler = self._start(words, {})
        self.address = ""

        def serves() -> None:
            self.address = json.loads(file.read_text())["address"]

        wait_for(serves)

    def worker(self, environment: Mapping[str, str] | None = None) -> subprocess.Popen[bytes]:
        words = ("worker", self.address, "--nthreads", "1", "--no-nanny")
        return self._start((*words, "--local-directory", str(self._folder)), environment or {})

    def _start(
        self, words: tuple[str, ...], environment: Mapping[str, str]
    ) -> subprocess.Popen[bytes]:
        return subprocess.Popen(
            [sys.executable, "-m", "dask", *words, "--no-dashboard"],
            cwd=self._folder,
            env=os.environ | environment,
            stderr=subprocess.DEVNULL,
        )


def wait_for(done: Callable[[], object]) -> None:
    """Until it raises no more."""
    deadline = time.monotonic() + WAIT_SECONDS
    while True:
        try:
            done()
        except (OSError, ValueError, CannotBeDone, AssertionError):
            if time.monotonic() > deadline:
                raise
            time.sleep(0.1)
        else:
            return


def patient(patch: pytest.MonkeyPatch) -> None:
    """A cluster is given all the time it needs: on a busy machine scheduler and workers are silent
    for longer than a person would wait."""
    for module, name in (
        (cluster, "ANSWER_SECONDS"),
        (cluster, "_PATIENCE_SECONDS"),
        (cluster_places, "_SILENT_SECONDS"),
        (cluster_places, "_COMPARING_SECONDS"),
    ):
        patch.setattr(module, name, 100.0)


def end(process: subprocess.Popen[bytes]) -> None:
    process.kill()
    process.wait()
