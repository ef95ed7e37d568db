"""Small job files and drawings for the tests of `marker.files`."""

from __future__ import annotations

import json
from pathlib import Path

from marker.errors import Fault, FaultyInput
from marker.job import Job
from marker.jobfile.reading import read_job
from marker.pattern.piece import Piece

HEAD = """
name = "choir dress"
units = "mm"
size = "38"
order = { "38" = 1 }
cloth.jersey = { width = "150 cm" }
"""
SQUARE = "points = [[0, 0], [100, 0], [100, 100], [0, 100]]"


def piece(*lines: str, name: str = "front") -> str:
    return "\n[[piece]]\n" + "\n".join([f'name = "{name}"', *lines]) + "\n"


def strip(*lines: str, name: str = "binding") -> str:
    return "\n[[strip]]\n" + "\n".join([f'name = "{name}"', 'width = "5 cm"', *lines]) + "\n"


def opening(*lines: str, name: str = "neckline", edges: str = "front.neck") -> str:
    return (
        "\n[[opening]]\n" + "\n".join([f'name = "{name}"', f'edges = ["{edges}"]', *lines]) + "\n"
    )


def job(folder: Path, text: str) -> Job:
    path = folder / "job.toml"
    path.write_text(text, encoding="utf-8")
    return read_job(path)


def only_piece(folder: Path, *lines: str, head: str = HEAD) -> Piece:
    return job(folder, head + piece(*lines)).pattern.pieces[0]


def faults(folder: Path, text: str) -> tuple[Fault, ...]:
    """The faults of a job file; there must be some."""
    try:
        job(folder, text)
    except FaultyInput as error:
        return error.faults
    raise AssertionError(f"read without complaint: {text}")


def only_fault(folder: Path, text: str) -> Fault:
    found = faults(folder, text)
    assert len(found) == 1, found
    return found[0]


def place(fault: Fault) -> str:
    """Where a fault stands, without its line."""
    return fault.place.replace(f":{fault.line}", "", 1) if fault.line else fault.place


def svg(
    folder: Path, body: str, size: str = 'width="10cm" height="10cm" viewBox="0 0 100 100"'
) -> None:
    """Writes drawing.svg, by default one user unit a millimetre."""
    text = f'<svg xmlns="http://www.w3.org/2000/svg" {size}>{body}</svg>'
    (folder / "drawing.svg").write_text(text, encoding="utf-8")


def points_line(points: list[tuple[float, float]]) -> str:
    return "points = " + json.dumps(points)
