"""Commands ended at random moments by SIGKILL, SIGTERM, SIGINT or a closed terminal.

Afterwards nothing may be half written, no process and no shared memory left, and a layout that was
there, or was told of, must be there and pass the judge.
"""

from __future__ import annotations

import json
import os
import shutil
import signal
import subprocess
import sys
import time
import urllib.error
import urllib.request
from collections.abc import Iterator, Mapping
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np

from marker.errors import MarkerError
from marker.files.own_files import LIST, OwnFiles
from marker.jobfile.stored import layout_of_job
from marker.outputs.steps import STEPS
from tests.cli.commands import TWO_PIECES

COMMANDS = ("lay", "order", "print", "buy", "serve")
SIGNALS = (signal.SIGKILL, signal.SIGTERM, signal.SIGINT, signal.SIGHUP)
WORDS: Mapping[str, tuple[str, ...]] = {
    "lay": ("lay", "job.toml", "--seconds", "1.5", "--out", "laid"),
    "order": ("order", "job.toml", "--max-garments", "2", "--max-plies", "2", "--demand", "38=3",
              "--seconds", "2", "--out", "ordered"),
    "print": ("print", "laid/layout.json", "--paper", "a4"),
    "buy": ("buy", "job.toml", "--widths", "110cm,150cm", "--seconds", "1", "--out", "bought"),
    "serve": ("serve", ".", "--no-browser"),
}  # fmt: skip
LONGEST = {"lay": 5.0, "order": 6.0, "print": 2.5, "buy": 4.0, "serve": 6.0}
"""Seconds within which each is ended: about as long as it takes on a quiet machine."""

_PATIENCE_SECONDS = 60.0  # for what ends by itself
_LAST_SECONDS = 300.0
_SHARED = Path("/dev/shm")
_ENDINGS = {".pdf": b"%%EOF", ".svg": b"</svg>", ".png": b"IEND\xaeB`\x82", ".html": b"</html>"}


@dataclass(frozen=True)
class Kill:
    """Which command is ended, how, and after how many seconds."""

    command: str
    signal: signal.Signals
    seconds: float

    @classmethod
    def of(cls, seed: int, command: str | None = None) -> Kill:
        """Of a seed; one in five of each command unless one is named."""
        rng = np.random.default_rng(seed)
        chosen = command or COMMANDS[seed % len(COMMANDS)]
        kind = SIGNALS[int(rng.integers(len(SIGNALS)))]
        return cls(chosen, kind, float(rng.uniform(0.0, LONGEST[chosen])))

    def __str__(self) -> str:
        return f"{self.command}, {self.signal.name} after {self.seconds:.2f} s"


def prepared(folder: Path) -> Path:
    """A folder in which every command but `serve` has run once, for `killed` to copy."""
    folder.mkdir()
    (folder / "job.toml").write_text(TWO_PIECES)
    for command in ("lay", "order", "print", "buy"):
        words = [*WORDS[command]]
        if "--seconds" in words:
            words[words.index("--seconds") + 1] = "0.2"
        subprocess.run(
            [sys.executable, "-m", "marker", *words],
            cwd=folder, capture_output=True, check=True, env=_environment(),
        )  # fmt: skip
    return folder


def faults_of(kill: Kill, template: Path) -> Iterator[str]:
    """What is wrong after one command was ended in a copy of the template."""
    with TemporaryDirectory() as base:
        folder = Path(base) / "work"
        shutil.copytree(template, folder)
        shared = _shared()
        told = folder / "told.txt"
        with told.open("w") as file:
            process = subprocess.Popen(
                [sys.executable, "-m", "marker", *WORDS[kill.command]],
                cwd=folder, stdin=subprocess.DEVNULL, stdout=file, stderr=subprocess.STDOUT,
                env=_environment(), start_new_session=True,
            )  # fmt: skip
        deadline = time.monotonic() + kill.seconds
        if kill.command == "serve":
            _use_the_page(told, deadline)
        time.sleep(max(0.0, deadline - time.monotonic()))
        ended_before = process.poll() is not None
        process.send_signal(kill.signal)
        code = _ended(process)
        yield from _process_faults(process, shared)
        if code is None:
            yield f"it did not end within {_LAST_SECONDS:.0f} s"
        elif not ended_before and kill.signal is not signal.SIGKILL:
            yield from _told_faults(kill, code, told.read_text(errors="replace"))
        yield from _file_faults(folder)


def _environment() -> dict[str, str]:
    return os.environ | {"PYTHONPATH": str(Path(__file__).parents[2])}


def _ended(process: subprocess.Popen[bytes]) -> int | None:
    try:
        return process.wait(_LAST_SECONDS)
    except subprocess.TimeoutExpired:
        process.kill()
        process.wait()
        return None


def _use_the_page(told: Path, deadline: float) -> None:
    """Open the job and search, if there is time for it."""
    address = ""
    while "key=" not in address and time.monotonic() < deadline:
        time.sleep(0.05)
        lines = [line for line in told.read_text().splitlines() if "key=" in line]
        address = lines[0] if lines else ""
    root, _, secret = address.partition("/?key=")
    while secret and time.monotonic() < deadline:
        try:
            (job, *_) = _asked(f"{root}/api/jobs", secret, None)
            _asked(f"{root}/api/jobs/{job['id']}/layout/lay", secret, b'{"seconds": 60}')
            return
        except (urllib.error.URLError, OSError, ValueError):
            time.sleep(0.1)


def _asked(address: str, secret: str, body: bytes | None) -> list[dict[str, str]]:
    request = urllib.request.Request(address, body)
    request.add_header("Authorization", f"Bearer {secret}")
    with urllib.request.urlopen(request, timeout=5) as answer:
        found = json.load(answer)
    return found if isinstance(found, list) else [found]


def _process_faults(process: subprocess.Popen[bytes], shared: set[str]) -> Iterator[str]:
    """Processes and shared memory that are still there after a while; the processes are ended."""
    deadline = time.monotonic() + _PATIENCE_SECONDS
    while True:
        session, left = _session(process.pid), _left(shared)
        if not (session or left) or time.monotonic() > deadline:
            break
        time.sleep(0.1)
    for pid, name in session.items():
        yield f"process {pid} is left: {name}"
        if "resource_tracker" not in name:  # it ends with the last of the others, and cleans up
            with suppress(ProcessLookupError):
                os.kill(pid, signal.SIGKILL)
    yield from (f"shared memory is left: {name}" for name in left)


def _session(leader: int) -> dict[int, str]:
    """The processes of a session, by number, with what they run."""
    found = {}
    for stat in Path("/proc").glob("[0-9]*/stat"):
        try:
            fields = stat.read_text().rpartition(")")[2].split()
            if int(fields[3]) == leader and fields[0] != "Z":
                words = (stat.parent / "cmdline").read_bytes().split(b"\0")
                found[int(stat.parent.name)] = b" ".join(words).decode(errors="replace")[:80]
        except (OSError, IndexError, ValueError):
            continue  # it has just ended
    return found


def _shared() -> set[str]:
    return {path.name for path in _SHARED.glob("*")} if _SHARED.is_dir() else set()


def _left(before: set[str]) -> set[str]:
    """What is new in shared memory, and that no process uses."""
    new = _shared() - before
    if not new:
        return new
    used = ""
    for maps in Path("/proc").glob("[0-9]*/maps"):
        try:
            used += maps.read_text()
        except OSError:
            continue
    return {name for name in new & _shared() if name not in used}


def _told_faults(kill: Kill, code: int, told: str) -> Iterator[str]:
    """What a command that could still speak said of its end."""
    if "Traceback" in told and "/marker/" in told:  # not while Python itself was starting
        yield f"traceback: {' '.join(told.split())[-300:]}"
    started = "  used " in told
    early = code == -kill.signal or ("/marker/" not in told and "Traceback" in told)
    if code not in (0, 130) and not early and kill.command != "serve":
        yield f"exit code {code}: {' '.join(told.split())[-200:]}"
    if started and kill.command == "lay" and "wrote" not in told and "kept in" not in told:
        yield f"a layout was found, and not written: {' '.join(told.split())[-200:]}"


def _file_faults(folder: Path) -> Iterator[str]:
    """Files that are cut off; and, once the next command has looked in, sets that are a mix."""
    for path in sorted(folder.rglob("*")):
        inside = any(part.startswith(".") for part in path.relative_to(folder).parts)
        ending = _ENDINGS.get(path.suffix)
        if inside or not path.is_file():
            continue
        content = path.read_bytes()
        if ending and ending not in content[-64:]:
            yield f"{path.relative_to(folder)} is cut off"
        if path.suffix == ".json" and path.stem != STEPS:  # the page's list is no layout
            yield from _layout_faults(path)
    for listed in sorted(folder.rglob(LIST)):
        yield from _set_faults(listed.parent)


def _layout_faults(path: Path) -> Iterator[str]:
    try:
        yield from (f"{path.name}: {each}" for each in layout_of_job(path).findings()[:1])
    except MarkerError as error:
        yield f"{path.name}: {error}"


def _set_faults(folder: Path) -> Iterator[str]:
    own = OwnFiles(folder)
    files = json.loads((folder / LIST).read_text())["files"]
    for name, entry in files.items():
        if not own.is_own(name, entry["by"]):
            yield f"{folder.name}/{name} is not as the list of own files says"
    strange = [
        path.name for path in folder.iterdir() if path.name.startswith(".") and path.name != LIST
    ]
    if strange:
        yield f"left in {folder.name}: {', '.join(strange)}"


def faults_of_seeds(seeds: range, command: str | None = None) -> list[str]:
    """What so many kills left wrong, each with its seed."""
    with TemporaryDirectory() as base:
        template = prepared(Path(base) / "template")
        kills = [(seed, Kill.of(seed, command)) for seed in seeds]
        return [
            f"{seed} ({kill}): {each}" for seed, kill in kills for each in faults_of(kill, template)
        ]
