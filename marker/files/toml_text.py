"""Keys and values as TOML."""

from __future__ import annotations

import json
from typing import Any


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
        case dict() if not value:
            return "{}"
        case dict():
            return f"{{ {', '.join(f'{toml_key(k)} = {inline(v)}' for k, v in value.items())} }}"
        case _:
            return f"[{', '.join(map(inline, value))}]"


def toml_key(key: str) -> str:
    """A key, in quotation marks where it needs them."""
    plain = key.isascii() and key.replace("_", "").isalnum()
    return key if plain else quoted(key)


def quoted(text: str) -> str:
    """A TOML basic string; JSON's escapes are among TOML's."""
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")
