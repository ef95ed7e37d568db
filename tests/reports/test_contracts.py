"""What `--json` prints is what the reference says that it prints."""

from __future__ import annotations

import json
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated

import pytest

from marker.reports.contracts import contract, report_types
from marker.reports.facts import Mark, Mm
from tests.cli.commands import TWO_PIECES, job_file, marker


@dataclass(frozen=True)
class Inner:
    """A part. at_mm : where it is, from the start."""

    at_mm: Mm


@dataclass(frozen=True)
class Report:
    """What was found.

    parts : each of them. note : words, None
    where there are none.
    """

    parts: tuple[Inner, ...]
    note: str | None
    secret: Annotated[str, Mark.HIDDEN] = ""


def test_keys_types_and_meanings() -> None:
    assert list(contract("find", Report)) == [
        "marker find --json prints one object. Lengths are in mm.",
        "",
        "Report: What was found.",
        "  parts: list of Inner  each of them.",
        "  note: text or null  words, None where there are none.",
        "",
        "Inner: A part.",
        "  at_mm: number to 0.1  where it is, from the start.",
    ]


@pytest.mark.parametrize("command", ["check", "bands"])
def test_a_command_prints_the_keys_of_its_contract(command: str, tmp_path: Path) -> None:
    job = job_file(tmp_path, TWO_PIECES)
    words = [command, job, "--json", *(["--out", tmp_path] if command == "bands" else [])]
    printed = json.loads(marker(*words).stdout)
    said = [line.split(":")[0].strip() for line in contract(command, report_types()[command])]
    assert set(printed) <= set(said)


def test_the_reference_prints_contracts() -> None:
    told = marker("reference", "json", "buy")
    assert (told.exit_code, "cheapest_by" in told.stdout) == (0, True)
    wrong = marker("reference", "json", "sell")
    assert (wrong.exit_code, "check" in wrong.stderr) == (2, True)


@pytest.mark.parametrize("command", list(report_types()))
def test_every_contract_can_be_said(command: str) -> None:
    lines = list(contract(command, report_types()[command]))
    assert len(lines) > 5
    assert not any("typing." in line or "class" in line for line in lines)
