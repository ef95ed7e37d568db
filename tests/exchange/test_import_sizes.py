"""Several sizes of one pattern: each drawn, or the sample size and a file of grade rules."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pytest

from marker.errors import FaultyInput
from marker.exchange.importing import Imported, import_drawings
from marker.job import Job
from marker.jobfile.writing import job_files
from tests.exchange.exchange import JERSEY, job_of
from tests.exchange.test_dxf import BOX, metric_pattern, pattern, piece, saved

RULES = """\
UNITS: METRIC
GRADE RULE TABLE: choir skirt
NUMBER OF SIZES: 3
SIZE LIST: 36 38 40
SAMPLE SIZE: 38
RULE: DELTA 1
0, 0  0, 0  0, 0
RULE: DELTA 2
-10, 0  0, 0  12, 0
RULE: DELTA 3
-10, -6  0, 0  12, 6
RULE: DELTA 4
0, -6  0, 0  0, 6
END
"""


def in_sizes(folder: Path, document: Any, *rules: str) -> Imported:
    files = [saved(document, folder)]
    for k, text in enumerate(rules):
        files.append(folder / f"skirt{k}.rul")
        files[-1].write_text(text)
    return import_drawings(files)


def graded_skirt(*numbers: int, box: Any = BOX) -> Any:
    """A box of 300 × 200 whose corners name these rules, counter-clockwise from (0, 0)."""
    document = metric_pattern()
    block = piece(document, "SKIRT", "Piece Name: skirt", "Size: 38", box=box)
    for number, at in zip(numbers, BOX, strict=False):
        block.add_text(f"# {number}", dxfattribs={"layer": "2", "insert": at})
    return document


def width_and_height(job: Job, size: str) -> tuple[float, float]:
    (only,) = job.in_size(size).pieces
    across, up = np.ptp(only.outline, axis=0)
    return float(across), float(up)


def test_corners_move_by_their_rules(tmp_path: Path) -> None:
    found = in_sizes(tmp_path, graded_skirt(1, 2, 3, 4), RULES)
    assert (found.sizes, found.size, found.passed_over) == (("36", "38", "40"), "38", {})
    job = job_of(found, tmp_path)
    assert [width_and_height(job, size) for size in job.sizes] == [
        (290, 194), (300, 200), (312, 206)
    ]  # fmt: skip


def test_points_between_move_by_their_share_and_notches_by_their_rule(tmp_path: Path) -> None:
    """The top's middle has no rule: half of rules 3 and 4. A notch at 100 of the bottom moves with
    rule 2 by all of it, one at 200 without a rule by its share."""
    document = graded_skirt(1, 2, 3, 4, box=[*BOX[:3], (150, 210), BOX[3]])
    block = document.blocks.get("SKIRT")
    for x in (100, 200):
        block.add_point((x, 0), dxfattribs={"layer": "4"})
    block.add_text("# 2", dxfattribs={"layer": "4", "insert": (100, 0)})
    job = job_of(in_sizes(tmp_path, document, RULES), tmp_path)
    (skirt,) = job.in_size("40").pieces
    assert np.allclose(skirt.outline[3] - skirt.outline[0], [156, 216])
    assert [notch.at_mm for notch in skirt.notches] == pytest.approx([112, 208])


def test_a_moved_origin_moves_nothing(tmp_path: Path) -> None:
    """One rule for all points moves the piece as a whole; one point alone is no grading."""
    for numbers in ((3, 3, 3, 3), (3,)):
        job = job_of(in_sizes(tmp_path, graded_skirt(*numbers), RULES), tmp_path)
        assert width_and_height(job, "40") == pytest.approx((300, 200))


def test_what_rules_can_not_do_is_left_out(tmp_path: Path) -> None:
    document = graded_skirt(1, 2, 3, 4)
    piece(document, "BELT", "Piece Name: belt", "Size: 38")
    block = document.blocks.get("SKIRT")
    block.add_circle((150, 100), 20, dxfattribs={"layer": "11"})
    block.add_text("# 4", dxfattribs={"layer": "2", "insert": (150, 100)})
    made = job_files(in_sizes(tmp_path, document, RULES), [], JERSEY)
    assert made.left_out == ["piece 'skirt': it has cut-outs, which rules do not grade"]
    assert list(made.measures_mm) == ["belt"]
    document = graded_skirt(1, 2, 3, 4)
    block = document.blocks.get("SKIRT")
    block.add_text("# 4", dxfattribs={"layer": "2", "insert": (150, 100)})
    block.add_text("# 1", dxfattribs={"layer": "2", "insert": (300, 200)})
    made = job_files(in_sizes(tmp_path, document, RULES), [], JERSEY)
    (line,) = made.left_out
    assert line.startswith("2 grade points of 'skirt'")


FAULTY = {
    "missing": ((1, 2, 3, 9), [RULES], "rules that are not in it: 9"),
    "none named": ((), [RULES], "no point of the pieces names a rule"),
    "two files": ((1, 2, 3, 4), [RULES, RULES], "second rule file"),
    "other sample": (
        (1, 2, 3, 4), [RULES.replace("SIZE: 38", "SIZE: 36").replace("-10, 0  0, 0", "0, 0 -10, 0")
                       .replace("-10, -6  0, 0", "0, 0 -10, -6")
                       .replace("0, -6  0, 0", "0, 0 0, -6")],
        "it is 36, and the drawing's is 38",
    ),
    "broken": ((1, 2, 3, 4), ["UNITS: METRIC\n"], "its END is missing"),
}  # fmt: skip


@pytest.mark.parametrize("name", FAULTY)
def test_rules_that_do_not_belong_are_refused(name: str, tmp_path: Path) -> None:
    numbers, rules, problem = FAULTY[name]
    with pytest.raises(FaultyInput) as raised:
        in_sizes(tmp_path, graded_skirt(*numbers), *rules)
    (fault,) = raised.value.faults
    assert problem in fault.problem
    assert ".rul" in fault.place
    with pytest.raises(FaultyInput, match="holds rules and no pieces"):
        import_drawings([tmp_path / "skirt0.rul"])


def test_what_was_not_used_is_said(tmp_path: Path) -> None:
    document = graded_skirt(1, 1, 4, 4)
    piece(document, "SKIRT_40", "Piece Name: skirt", "Size: 40")
    document.modelspace().add_text("Grade Rule Table: other")
    found = in_sizes(tmp_path, document, RULES)
    assert found.passed_over == {
        "pieces of other sizes: the rules make these": 1,
        "rules that no point names: 2, 3": 2,
    }
    assert found.changed == (
        "the rules: the drawing asks for 'other', the file calls its 'choir skirt'",
    )
    alone = in_sizes(tmp_path, graded_skirt(1, 2, 3, 4))
    assert alone.passed_over == {"grade points: name their rule file (.rul) too": 4}
    assert alone.sizes == ("38",)


def drawn_sizes(*missing: tuple[str, str]) -> Any:
    """A yoke and a cuff in three sizes, without those missing; named by their blocks alone. In each
    size the outline begins at another corner."""
    document = metric_pattern()
    for turn, (size, grown) in enumerate((("36", -10), ("38", 0), ("40", 20))):
        for name in ("YOKE", "CUFF"):
            if (name, size) in missing:
                continue
            box = np.array([(0, 0), (300 + grown, 0), (300 + grown, 120), (0, 100)])
            block = piece(
                document, f"{name}_{size}", f"Size: {size}", box=np.roll(box, turn, axis=0)
            )
            block.add_point((100, 0), dxfattribs={"layer": "4"})
    return document


def test_every_drawn_size_is_imported(tmp_path: Path) -> None:
    found = in_sizes(tmp_path, drawn_sizes())
    assert (found.sizes, found.size, found.changed) == (("36", "38", "40"), "38", ())
    job = job_of(found, tmp_path)
    assert [piece.name for piece in job.pattern.pieces] == ["YOKE", "CUFF"]
    for size, width in (("36", 290), ("38", 300), ("40", 320)):
        yoke = job.in_size(size).pieces[0]
        assert np.ptp(yoke.outline[:, 0]) == width
        (notch,) = yoke.notches
        lengths = {
            name: round(np.hypot(*(yoke.outline[edge.end] - yoke.outline[edge.start])))
            for name, edge in yoke.edges.items()
        }
        assert lengths[notch.edge] == width  # the bottom has one name in every size


def test_a_piece_of_the_sample_alone_and_a_size_that_lacks_one(tmp_path: Path) -> None:
    found = in_sizes(tmp_path, drawn_sizes(("CUFF", "36"), ("CUFF", "40")))
    assert found.changed == ("'CUFF', drawn in size 38 alone: the same in every size",)
    job = job_of(found, tmp_path)
    assert [np.ptp(job.in_size(size).pieces[1].outline[:, 0]) for size in job.sizes] == [300] * 3
    found = in_sizes(tmp_path, drawn_sizes(("CUFF", "36")))
    assert found.changed == ("size 36: left out, 'CUFF' is not drawn in it",)
    assert found.sizes == ("38", "40")
    found = in_sizes(tmp_path, drawn_sizes(("CUFF", "38")))
    assert len(found.changed) == 2
    assert [piece.name for piece in found.pieces] == ["YOKE"]


def test_the_sample_size_is_the_middle_one_if_none_is_named(tmp_path: Path) -> None:
    document = pattern("Units: METRIC")
    for size in ("S", "M", "L"):
        piece(document, f"YOKE-{size}", "Piece Name: yoke", f"Size: {size}")
    found = in_sizes(tmp_path, document)
    assert (found.size, found.sizes) == ("M", ("S", "M", "L"))
    assert found.changed == ("the sample size: M, the file names none that it draws",)
