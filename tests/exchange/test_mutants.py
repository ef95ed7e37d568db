"""Files with random faults are read, or refused with a place and a remedy; nothing else happens.

`python -m tests.benchmarks.mutants` tries more of them.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from marker.errors import Fault, FaultyInput
from marker.exchange.dxf.dxf_text import dxf_text
from marker.exchange.dxf.rule_file import RuleFile, read_rules, rules_text
from marker.exchange.importing import import_drawings
from marker.exchange.laid_flat import pattern_sheet
from marker.exchange.layout_json import layout_text, read_layout
from marker.exchange.layout_tables import LayoutTable
from marker.exchange.pdf.pattern_pdf import pattern_pdf
from marker.exchange.svg.svg_text import svg_text
from marker.files.faults import Unusable
from marker.jobfile.demand_table import DemandFile, read_demand_table
from marker.jobfile.reading import read_job
from marker.jobfile.writing import job_files
from tests.exchange.exchange import CREATED, JERSEY
from tests.exchange.mutants import mutants
from tests.exchange.test_kept import WOOL
from tests.exchange.test_layout_json import CHECKED, JOB
from tests.jobfile.sheets import Rows, open_document, workbook

FEW, SEED = 25, 7
KINDS = ("svg", "dxf", "pdf", "json", "toml", "rul", "csv", "xlsx", "ods")
RULES = RuleFile(
    "dresses", ("36", "38", "40"), "38", 1.0,
    {k: ((-5.0 * k, 0.0), (0.0, 0.0), (5.5, k / 3)) for k in range(1, 9)},
)  # fmt: skip
SHEETS: Rows = {"March": [["", "36", "38"], ["red", 3, 4]]}
DEMAND = 'size;36;38;40\nred;3;4;5\n"dark blue";0;12;1\n'


def sound(kind: str, folder: Path) -> bytes:
    """A file of this kind as marker writes it."""
    if kind == "json":
        path = folder / "layout.json"
        return layout_text(LayoutTable.of(CHECKED, None), path, folder / "job.toml", JOB).encode()
    if kind in ("toml", "csv", "rul"):
        texts = {"toml": WOOL, "csv": DEMAND, "rul": rules_text(RULES, CREATED)}
        return texts[kind].encode()
    if kind in ("xlsx", "ods"):
        return workbook(SHEETS) if kind == "xlsx" else open_document(SHEETS)
    (folder / "robe.toml").write_text(WOOL)
    sheet = pattern_sheet(read_job(folder / "robe.toml"))
    if kind == "pdf":
        return pattern_pdf(sheet)
    return (svg_text(sheet) if kind == "svg" else dxf_text(sheet, CREATED)).encode()


def _read_demand(path: Path) -> object:
    return read_demand_table(DemandFile(path))


_READERS: dict[str, Callable[[Path], object]] = {
    ".json": read_layout,
    ".toml": read_job,
    ".rul": read_rules,
    ".csv": _read_demand,
    ".xlsx": _read_demand,
    ".ods": _read_demand,
}


def read(path: Path) -> list[Fault] | None:
    """The faults for which a file is refused; None where it is read."""
    try:
        if path.suffix in _READERS:
            _READERS[path.suffix](path)
        else:
            job_files(import_drawings([path]), ["robe"], JERSEY)
    except FaultyInput as refused:
        return list(refused.faults)
    except Unusable as refused:  # of no piece; the command adds the place
        return [Fault(str(path), refused.problem, refused.remedy)]
    return None


@pytest.mark.parametrize("kind", KINDS)
def test_faulty_files_are_read_or_refused(kind: str, tmp_path: Path) -> None:
    path = tmp_path / f"robe.{kind}"
    content = sound(kind, tmp_path)
    path.write_bytes(content)
    assert read(path) is None
    refused = 0
    for mutant in mutants(content, FEW, SEED):
        path.write_bytes(mutant)
        faults = read(path)
        refused += faults is not None
        assert all(fault.place and fault.remedy for fault in faults or ())
    assert refused > 0
