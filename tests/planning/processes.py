"""A scheduler of dask.distributed and its workers, as they are started in a terminal."""

from __future__ import annotations

import os
import socket
import subprocess
import sys
import time
from collections.abc import Callable, Mapping
from pathlib import Path

from marker.errors import CannotBeDone


class Processes:
    """One scheduler, and workers of it as they are asked for."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        with socket.socket() as free:
            free.bind(("127.0.0.1", 0))
            self.address = f"tcp://127.0.0.1:{free.getsockname()[1]}"
        port = self.address.rpartition(":")[2]
        words = ("scheduler", "--host", "127.0.0.1", "--port", port)
        self.scheduler = self._start(words, {})
        wait_for(lambda: socket.create_connection(("127.0.0.1", int(port))).close())

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
    for _ in range(300):
        try:
            done()
        except (OSError, CannotBeDone, AssertionError):
            time.sleep(0.1)
        else:
            return
    raise TimeoutError


def end(process: subprocess.Popen[bytes]) -> None:
    process.kill()
    process.wait()
