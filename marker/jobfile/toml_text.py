"""Values of a job file as TOML, and the same value in several sizes as one."""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any

from marker.jobfile.sizes import BY_SIZE


def merged(by_size: Mapping[str, Any]) -> Any:
    """One value for all sizes where they agree, tables and lists of tables part by part; else a
    value by size."""
    first, *others = by_size.values()
    if all(value == first for value in others):
        return first
    if isinstance(first, dict) and all(value.keys() == first.keys() for value in others):
        return {key: merged({s: value[key] for s, value in by_size.items()}) for key in first}
    lengths = {len(value) for value in by_size.values() if isinstance(value, list)}
    if isinstance(first, list) and len(lengths) == 1 and first and isinstance(first[0], dict):
        return [merged({s: value[k] for s, value in by_size.items()}) for k in range(len(first))]
    return {BY_SIZE: dict(by_size)}


def assignment(key: str, value: Any) -> str:
    """A key and its value; a list of tables has a line for each."""
    if isinstance(value, list) and value and isinstance(value[0], dict):
        rows = "".join(f"    {inline(row)},\n" for row in value)
        return f"{key} = [\n{rows}]"
    return f"{key} = {inline(value)}"


def inline(value: Any) -> str:
    """A value in one line."""
    match value:
        case bool():
            return "true" if value else "false"
        case str():
            return quoted(value)
        case int() | float():
            return f"{value:.10g}"
        case dict():
            return f"{{ {', '.join(f'{_key(k)} = {inline(v)}' for k, v in value.items())} }}"
        case _:
            return f"[{', '.join(map(inline, value))}]"


def _key(key: str) -> str:
    plain = key.isascii() and key.replace("_", "").isalnum()
    return key if plain else quoted(key)


def quoted(text: str) -> str:
    """A TOML basic string; JSON's escapes are among TOML's."""
    return json.dumps(text, ensure_ascii=False)
