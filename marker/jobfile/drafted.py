"""A drafted garment as a job file with its drawings."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from marker.blocks.garment import Block, Drafted
from marker.exchange.svg.drafted import draft_places, draft_text
from marker.files.toml_edits import assignment, quoted
from marker.job import Job
from marker.jobfile.drafted_tables import (
    NOTE,
    Rows,
    cloth_rows,
    derived_rows,
    girth_rows,
    inside_rows,
    opening_rows,
    piece_rows,
    seam_rows,
    strip_rows,
)
from marker.jobfile.reading import read_job
from marker.jobfile.sizes import SIZE, merged
from marker.jobfile.writing import JOB, PATTERN, drawing_name
from marker.units import MM_PER_UNIT, System, shown
from marker.words import with_size

_REFERENCE = """\
# Change what you like: `marker reference` says what each key may be.
# The drawings show stitching lines; an edge runs from corner to corner in the order drawn."""
_BODY_IN: dict[System, tuple[str, float]] = {
    System.METRIC: ("cm", 10.0),
    System.IMPERIAL: ("inches", float(MM_PER_UNIT["in"])),
}
_SOLD_BY_YARDS = "1/8 yd"
_YOUR_CLOTH = "put in your own cloth: its width, and what it is sold by"
_USUAL = {"cut": 1, "pair": False, "grain": 90.0, "turns": [0.0, 180.0], NOTE: ""}


def drafted_files(
    drafted: Drafted,
    title: str,
    system: System,
    *,
    each_size: bool = False,
) -> dict[str, str]:
    """Name of each file -> its text: the job, called `title`, and a drawing for each size.

    system : that its measures were given in. A job of inches shows its results in inches, and its
        cloth is sold by the eighth of a yard (common practice, no source).
    each_size : one garment of each size is ordered; of the sample size alone unless given.
    """
    drawing = drawing_name(PATTERN, len(drafted.sizes) > 1)
    wanted = list(drafted.sizes) if each_size else [drafted.sample]
    lines = [*_head(drafted, system), f"name = {quoted(title)}"]
    lines += _sizes(drafted, wanted, system)
    texts = {JOB: "\n".join([*lines, *_tables_text(drafted, drawing, system)]) + "\n"}
    for size, block in drafted.sizes.items():
        heading = f"{with_size(title, size)}, stitching lines in mm"
        texts[drawing.replace(SIZE, size)] = draft_text(heading, block.pieces)
    return texts


def job_of(drafted: Drafted, title: str) -> Job:
    """The job as it is read from its files, its cloth sold by the system that is shown first."""
    with TemporaryDirectory() as folder:
        for name, text in drafted_files(drafted, title, shown().lead).items():
            (Path(folder) / name).write_text(text, encoding="utf-8")
        return read_job(Path(folder) / JOB)


def _sizes(drafted: Drafted, wanted: Sequence[str], system: System) -> Iterator[str]:
    """The sizes that it comes in, the units shown, and one garment of each size wanted."""
    yield f"size = {quoted(drafted.sample)}"
    if len(drafted.sizes) > 1:
        yield assignment("sizes", list(drafted.sizes))
    if system is System.IMPERIAL:
        yield assignment("show", str(system))
    yield from ("", "[order]", *(f"{quoted(size)} = 1" for size in wanted))


def _tables_text(drafted: Drafted, drawing: str, system: System) -> list[str]:
    """The tables of cloths, pieces, openings, strips and seams."""
    lines: list[str] = []
    own = drafted.sizes[drafted.sample]
    for cloth in own.cloths:
        rows = cloth_rows(cloth)
        if system is System.IMPERIAL:
            rows["sold_by"] = _SOLD_BY_YARDS
        if cloth is own.cloths[0]:
            rows[NOTE] = _YOUR_CLOTH
        lines += ["", f"[cloth.{quoted(cloth.name)}]", *_rows(rows)]
    by_size: dict[str, list[tuple[str, list[Rows]]]] = {
        size: _tables(block, drawing) for size, block in drafted.sizes.items()
    }
    for number, (kind, tables) in enumerate(by_size[drafted.sample]):
        for k in range(len(tables)):
            sized = {size: rows[number][1][k] for size, rows in by_size.items()}
            lines += ["", f"[[{kind}]]", *_rows(_in_all_sizes(sized))]
    return lines


def _in_all_sizes(sized: Mapping[str, Mapping[str, Any]]) -> Rows:
    """One table for all sizes; a key that some sizes lack has its usual value in them, or else is
    an empty list. A note that differs is told for each size."""
    keys = dict.fromkeys(key for table in sized.values() for key in table)
    found = {
        key: merged({size: table.get(key, _USUAL.get(key, [])) for size, table in sized.items()})
        for key in keys
    }
    if isinstance(found.get(NOTE), dict):
        notes = {size: table[NOTE] for size, table in sized.items() if table.get(NOTE)}
        found[NOTE] = "; ".join(f"{size}: {note}" for size, note in notes.items())
    return found


def _head(drafted: Drafted, system: System) -> Iterator[str]:
    unit, mm_per = _BODY_IN[system]
    yield f"# {drafted.says}"
    yield f"# Drafted by {drafted.method}."
    for size, measures in drafted.measures.items():
        found = [f"{name.replace('_', ' ')} {mm / mm_per:.5g}" for name, mm in measures.items()]
        if found:
            yield f"# Size {size}, body in {unit}: {', '.join(found)}."
    if drafted.options:
        said = ", ".join(f"{name.replace('_', ' ')} {v}" for name, v in drafted.options.items())
        yield f"# Chosen: {said}."
    yield _REFERENCE


def _tables(block: Block, drawing: str) -> list[tuple[str, list[Rows]]]:
    """Kind of table -> the tables of that kind, without what goes without saying."""
    main = block.cloths[0].name
    kinds = {
        "piece": [
            piece_rows(piece, drawing, main) | inside_rows(piece, at)
            for piece, at in zip(block.pieces, draft_places(block.pieces), strict=True)
        ],
        "derived": [derived_rows(each) for each in block.derived],
        "opening": [opening_rows(opening) for opening in block.openings],
        "girth": [girth_rows(girth) for girth in block.girths],
        "strip": [strip_rows(strip, main) for strip in block.strips],
        "seam": [seam_rows(each) for each in block.seams],
    }
    for tables in kinds.values():
        for table in tables:
            if table["name"] in block.notes:
                table[NOTE] = block.notes[table["name"]]
    return list(kinds.items())


def _rows(table: Mapping[str, Any]) -> Iterator[str]:
    """The keys and values, the note beside the first of them."""
    note = table.get(NOTE, "")
    for number, (key, value) in enumerate((k, v) for k, v in table.items() if k != NOTE):
        yield assignment(key, value) + (f"  # {note}" if note and number == 0 else "")
