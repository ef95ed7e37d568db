"""The job file as a JSON Schema, from which editors complete, explain and check it.

JSON Schema draft 7, which editors of TOML know. It is made of the tables themselves. It says what
each key may be, not what keys mean together.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any

from marker.jobfile.job_table import GRADED, JobTable
from marker.jobfile.sizes import BY_SIZE
from marker.jobfile.writing import JOB

SCHEMA_FILE = "job.schema.json"
_SCHEMA_LINE = f"#:schema ./{SCHEMA_FILE}\n"  # as editors of TOML look for it
_DRAFT = "http://json-schema.org/draft-07/schema#"
_SAID_OF_KEYS = ("description", "examples")
_OF_CLASSES = ("title", "discriminator")


def editor_schema() -> dict[str, Any]:
    """The schema as plain data."""
    made = JobTable.model_json_schema()
    tables = made.pop("$defs")
    whole = _plain({**made, "definitions": tables})
    sized: set[str] = set()
    for kind in GRADED:
        listed = whole["properties"][kind]["items"]
        _allow_by_size(listed, whole["definitions"], sized, table=True)
    return {"$schema": _DRAFT, "title": "A job file of marker", **whole}


def with_schema(texts: Mapping[str, str]) -> dict[str, str]:
    """The files of a new job, name -> text, and the schema, named in the job's first line."""
    return {**texts, JOB: _SCHEMA_LINE + texts[JOB], SCHEMA_FILE: editor_schema_text()}


def editor_schema_text() -> str:
    """The schema as the text of its file."""
    return json.dumps(editor_schema(), ensure_ascii=False, separators=(",", ":")) + "\n"


def _plain(schema: Any) -> Any:
    """The schema without what names classes, and without null, which TOML does not have."""
    if isinstance(schema, list):
        return [_plain(each) for each in schema if each != {"type": "null"}]
    if not isinstance(schema, dict):
        return schema
    plain = {
        key: value
        if key in ("examples", "enum", "required", "const")
        else {name: _plain(each) for name, each in value.items()}
        if key in ("properties", "patternProperties", "definitions")
        else _plain(value)
        for key, value in schema.items()
        if key not in _OF_CLASSES
    }
    if len(plain.get("anyOf", ())) == 1:
        plain |= plain.pop("anyOf")[0] | {k: plain[k] for k in _SAID_OF_KEYS if k in plain}
    if "$ref" in plain:
        table = str(plain.pop("$ref")).rpartition("/")[2]
        reference = {"$ref": f"#/definitions/{table}"}
        return {**plain, "allOf": [reference]} if plain else reference
    return plain


def _allow_by_size(
    schema: Any, tables: dict[str, Any], done: set[str], table: bool = False
) -> None:
    """Let every value inside the schema be given by size, but the name of a table in the file."""
    if not isinstance(schema, dict):
        return
    if "$ref" in schema:
        name = schema["$ref"].rpartition("/")[2]
        if name not in done:
            done.add(name)
            _allow_by_size(tables[name], tables, done, table)
        return
    for combined in ("anyOf", "oneOf", "allOf"):
        for each in schema.get(combined, ()):
            _allow_by_size(each, tables, done)
    for key in ("properties", "patternProperties"):
        for name, value in schema.get(key, {}).items():
            _allow_by_size(value, tables, done)
            if not (table and name == "name"):
                schema[key][name] = _or_by_size(value)
    if "items" in schema:
        _allow_by_size(schema["items"], tables, done)
        schema["items"] = _or_by_size(schema["items"])


def _or_by_size(value: dict[str, Any]) -> dict[str, Any]:
    said = {key: value[key] for key in _SAID_OF_KEYS if key in value}
    bare = {key: each for key, each in value.items() if key not in said}
    by_size = {
        "type": "object",
        "properties": {BY_SIZE: {"type": "object", "additionalProperties": bare}},
        "required": [BY_SIZE],
        "additionalProperties": False,
    }
    return {**said, "anyOf": [bare, by_size]}
