"""The reference and the editors' schema come from the tables themselves, and hold every key."""

from __future__ import annotations

import re
import tomllib
from itertools import pairwise
from pathlib import Path
from typing import Annotated, Any

import pytest
from jsonschema import Draft7Validator
from pydantic import BaseModel, ConfigDict, TypeAdapter
from pydantic.fields import FieldInfo

from marker.errors import FaultyInput
from marker.files.tables import about
from marker.jobfile.editor_schema import SCHEMA_FILE, editor_schema, with_schema
from marker.jobfile.new_job import starter_job
from marker.jobfile.reference import entries, reference, topics

ROOT = Path(__file__).parents[2]
KEYS = {path: field for entry in entries() for path, field in entry.keys.items()}
SHIPPED = [*sorted(ROOT.glob("pieces/*/job.toml")), ROOT / "marker/jobfile/starter.toml"]
VALIDATOR = Draft7Validator(editor_schema())


def value(text: str) -> Any:
    return tomllib.loads(f"key = {text}")["key"]


def checked(field: FieldInfo, given: Any) -> Any:
    """The value as the key's own type takes it, a bare number as a millimetre."""
    model = isinstance(field.annotation, type) and issubclass(field.annotation, BaseModel)
    kind: Any = Annotated.__class_getitem__((field.annotation, *field.metadata, None))  # type: ignore[attr-defined]
    adapter = TypeAdapter[Any](kind, config=None if model else ConfigDict(strict=True))
    return adapter.validate_python(given, context=1.0)


@pytest.mark.parametrize("path", KEYS)
def test_every_key_says_what_it_means_and_shows_an_example_that_is_taken(path: str) -> None:
    said = about(KEYS[path])
    assert said.means[0].isupper() or said.means.startswith(("`", "[", "'"))
    assert said.means.endswith(".")
    checked(KEYS[path], value(said.example))
    text = reference(path)
    assert path in text
    assert said.example in re.sub(r"\s+", " ", text)


def test_the_whole_holds_every_key_and_every_topic_once() -> None:
    pairs = list(pairwise(reference().splitlines()))
    for entry in entries():
        first = next(each for each in entries() if each.table is entry.table)
        for path in entry.keys:
            told = sum(line == path and after.startswith("    ") for line, after in pairs)
            assert told == (1 if first is entry else 0), path
        if first is not entry:
            assert any(line == f"Holds the same keys as {first.path}." for line, _ in pairs)
    for title in topics():
        assert sum(pair == (title, "-" * len(title)) for pair in pairs) == 1


def test_topics_that_keys_and_tables_point_to_are_there() -> None:
    pointed = re.findall(r"topics? ((?:'[^']+'(?:, | and )?)+)", re.sub(r"\s+", " ", reference()))
    named = {name for group in pointed for name in re.findall(r"'([^']+)'", group)}
    assert named
    assert named <= set(topics())


@pytest.mark.parametrize(
    ("asked", "holds"),
    [
        ("cloth.nap", ['one of "either way"', 'default     "either way"']),
        ("nap", ["cloth.nap"]),
        ("[[piece]]", ["[[piece]]", "piece.fold", "piece.notches.edge"]),
        ("[cloth.NAME]", ["cloth.width", "cloth.price.amount"]),
        ("Corners", ["piece.corners", "numbered from 1"]),
        ("grade rules", ["[rules.underarm]"]),
        ("notches", ["piece.notches", "piece.notches.name"]),
    ],
)
def test_one_key_table_or_topic(asked: str, holds: list[str]) -> None:
    text = reference(asked)
    assert all(words in text for words in holds)
    assert len(text) < len(reference()) / 2


@pytest.mark.parametrize(
    ("asked", "near"),
    [("cloth.nup", "cloth.nap"), ("alowance", "allowance"), ("shrinkge", "shrink")],
)
def test_the_nearest_is_suggested(asked: str, near: str) -> None:
    with pytest.raises(FaultyInput) as raised:
        reference(asked)
    assert near in raised.value.faults[0].remedy


@pytest.mark.parametrize("path", SHIPPED, ids=lambda path: path.parent.name)
def test_shipped_jobs_are_sound_by_the_schema(path: Path) -> None:
    with path.open("rb") as file:
        assert list(VALIDATOR.iter_errors(tomllib.load(file))) == []


def test_values_by_size_are_sound_by_the_schema() -> None:
    job = tomllib.loads(starter_job("tabard"))
    job["piece"][0]["notches"][0]["at"] = {"by_size": {"38": "30 cm", "40": 31}}
    job["piece"][0]["edges"] = {"by_size": {"38": {"hem": [1, 2]}, "40": {"hem": [1, 3]}}}
    assert list(VALIDATOR.iter_errors(job)) == []
    job["piece"][0]["name"] = {"by_size": {"38": "front"}}
    assert [error.json_path for error in VALIDATOR.iter_errors(job)] == ["$.piece[0].name"]


@pytest.mark.parametrize("entry", entries(), ids=lambda entry: entry.path)
def test_a_wrong_key_is_not_sound_by_the_schema(entry: Any) -> None:
    """In every table: its required keys by their examples, and one key more."""
    definitions = editor_schema()["definitions"]
    own = definitions.get(entry.table.__name__)
    if own is None:  # it stands in its place, not by name
        own = editor_schema() if not entry.path else editor_schema()["properties"][entry.path]
        own = own.get("items", own) | {"definitions": definitions}
    required = {
        path.rpartition(".")[2]: value(about(field).example)
        for path, field in entry.keys.items()
        if field.is_required()
    }
    validator = Draft7Validator(own | {"definitions": definitions})
    assert list(validator.iter_errors(required)) == []
    assert list(validator.iter_errors(required | {"wrong": 1})) != []


@pytest.mark.parametrize(
    ("key", "wrong"),
    [("nap", "oneway"), ("width", -3), ("width", "wide"), ("tube", False), ("rolls", [])],
)
def test_a_wrong_value_is_not_sound_by_the_schema(key: str, wrong: Any) -> None:
    job = tomllib.loads(starter_job("tabard"))
    job["cloth"]["crepe"][key] = wrong
    assert [error.json_path for error in VALIDATOR.iter_errors(job)] == [f"$.cloth.crepe.{key}"]


def test_a_new_job_names_the_schema_beside_it() -> None:
    files = with_schema({"job.toml": starter_job("tabard")})
    assert files["job.toml"].splitlines()[0] == f"#:schema ./{SCHEMA_FILE}"
    assert SCHEMA_FILE in files
    assert tomllib.loads(files["job.toml"]) == tomllib.loads(starter_job("tabard"))
