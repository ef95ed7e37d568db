"""`marker reference` prints all, one key or topic, or the schema; `marker new` ships the schema."""

from __future__ import annotations

import json
from pathlib import Path

from tests.cli.commands import marker


def test_prints_all_or_one_key_or_the_schema() -> None:
    whole, one = marker("reference"), marker("reference", "cloth.nap")
    assert (whole.exit_code, one.exit_code) == (0, 0)
    assert one.stdout.strip() in whole.stdout
    assert marker("reference", "grade", "rules").stdout.startswith("grade rules")
    assert "piece" in json.loads(marker("reference", "--schema").stdout)["properties"]


def test_an_unknown_key_is_wrong_usage() -> None:
    told = marker("reference", "cloth.nup")
    assert (told.exit_code, told.stdout) == (2, "")
    assert "'cloth.nap'" in told.stderr


def test_a_new_job_is_read_with_its_schema_beside_it(tmp_path: Path) -> None:
    made = marker("new", tmp_path / "tabard")
    assert made.exit_code == 0
    assert "marker reference" in made.stdout
    assert {path.name for path in (tmp_path / "tabard").glob("[!.]*")} == {
        "job.toml",
        "job.schema.json",
    }
    schema = marker("reference", "--schema").stdout
    assert (tmp_path / "tabard" / "job.schema.json").read_text(encoding="utf-8") == schema
    assert marker("check", tmp_path / "tabard" / "job.toml").exit_code == 0
