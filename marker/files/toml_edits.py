"""Values as TOML text, and changes to a TOML text that leave all the rest of it to the letter.

The libraries at hand that keep comments sort lists of tables that alternate, as pieces and strips
may. So the text is cut where the places of its values say.
"""

from __future__ import annotations

import json
import re
import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from marker.files.faults import Unusable
from marker.files.toml_places import Kind, Node, places

Step = str | int
Place = tuple[Step, ...]
"""A way to a value: keys, and entries of lists by number from 0 or by the name of their table."""

_Cut = tuple[int, int, str]  # from, to, what comes in its place


def with_value(text: str, place: Place, value: Any) -> str:
    """The text with this value at the place, added where nothing is there yet.

    Tables and lists that are missing on the way are made; an entry may be added behind the last of
    its list. A table under a header of its own is changed key by key. Raises Unusable for an entry
    that can't be there.
    """
    way = _Way.to(text, place)
    if way.left:
        added = _nested(way.left[1:], value)
        return _applied(text, _adding(text, way, way.left[0], added))
    if way.node.kind in (Kind.SCALAR, Kind.LIST, Kind.INLINE):
        return _applied(text, [(way.node.start, way.node.end, inline(value))])
    if not isinstance(value, Mapping):
        raise _no_table()
    for key in [key for key in way.node.keys if key not in value]:
        text = without(text, (*place, key))
    for key, each in value.items():
        text = with_value(text, (*place, key), each)
    return text


def without(text: str, place: Place) -> str:
    """The text without what is at the place; raises Unusable if nothing is."""
    holder = _Way.to(text, place[:-1])
    step = None if holder.left else _entry(text, holder.node, place[-1])
    if step is None:
        raise Unusable("there is nothing at this place", "Name what is in the file")
    return _applied(text, _removing(text, holder.node, step))


def _no_table() -> Unusable:
    return Unusable("a table is expected here", "Give its keys and values")


@dataclass(frozen=True)
class _Way:
    """As far as a place leads in a text.

    node : the last value on the way. names : the keys to it. passed : those of them since the last
    header. left : the steps that lead nowhere yet.
    """

    node: Node
    names: tuple[str, ...]
    passed: tuple[str, ...]
    left: Place

    @classmethod
    def to(cls, text: str, place: Place) -> _Way:
        node = places(text)
        names: tuple[str, ...] = ()
        passed: tuple[str, ...] = ()
        for number, step in enumerate(place):
            known = _entry(text, node, step)
            if known is None:
                return cls(node, names, passed, place[number:])
            if isinstance(known, int):
                node = node.entries[known]
            else:
                node, names, passed = node.keys[known], (*names, known), (*passed, known)
            passed = () if node.kind is Kind.BLOCK else passed
        return cls(node, names, passed, ())


def _entry(text: str, node: Node, step: Step) -> Step | None:
    """The key or number by which a step is found; None for one that may be added."""
    if node.kind is Kind.SCALAR:
        raise Unusable("nothing can be inside this value", "Name a table or a list")
    if node.kind not in (Kind.LIST, Kind.BLOCKS):
        return str(step) if str(step) in node.keys else None
    if isinstance(step, str):
        names = [_name(text, entry) for entry in node.entries]
        if step not in names:
            raise Unusable.unknown("entry", step, filter(None, names))
        return names.index(step)
    if not 0 <= step <= len(node.entries):
        raise Unusable(f"there is no entry {step}", f"Give one of 0 to {len(node.entries)}")
    return step if step < len(node.entries) else None


def _name(text: str, entry: Node) -> str:
    name = entry.keys.get("name")
    return str(tomllib.loads(f"name = {text[name.start : name.end]}")["name"]) if name else ""


def _nested(way: Place, value: Any) -> Any:
    for step in reversed(way):
        if not isinstance(step, str) and step != 0:
            raise Unusable("there is no such list", "Begin it with entry 0")
        value = {step: value} if isinstance(step, str) else [value]
    return value


def _adding(text: str, way: _Way, step: Step, value: Any) -> list[_Cut]:
    """The cuts that add a value to the node of a way."""
    node, end_of_line = way.node, _line_end(text, way.node.end)
    if node.kind is Kind.LIST:
        return _appending(text, node, value)
    if node.kind is Kind.INLINE:
        return _joining(node, str(step), value)
    if node.kind is Kind.BLOCKS or _is_for_blocks(node, way, value):
        names = way.names if node.kind is Kind.BLOCKS else (*way.names, str(step))
        listed = node.kind is Kind.BLOCKS or isinstance(value, list)
        return _new_blocks(text, node, _header(names, listed), value)
    if node.kind is Kind.AROUND and _has_headers(node):
        raise _no_table()
    key = ".".join(map(toml_key, (*way.passed, str(step))))
    line = f"{key} = {inline(value)}"
    if not way.names and not node.end:  # nothing stands above the first header
        return [(0, 0, line + _newline(text))]
    return [(end_of_line, end_of_line, _newline(text) + line)]


def _is_for_blocks(node: Node, way: _Way, value: Any) -> bool:
    """Whether a table, or list of tables, added here gets a header of its own."""
    tables = value if isinstance(value, list) else [value]
    if not tables or not all(isinstance(table, Mapping) for table in tables):
        return False
    return not way.names or (node.kind is Kind.AROUND and _has_headers(node))


def _has_headers(node: Node) -> bool:
    return any(each.kind is Kind.BLOCK for each in node.inside())


def _header(names: Sequence[str], listed: bool) -> str:
    path = ".".join(map(toml_key, names))
    return f"[[{path}]]" if listed else f"[{path}]"


def _new_blocks(text: str, node: Node, header: str, value: Any) -> list[_Cut]:
    """Blocks behind those of the node, or else at the end of the file."""
    newline = _newline(text)
    tables = value if isinstance(value, list) else [value]
    if not all(isinstance(table, Mapping) for table in tables):
        raise _no_table()
    blocks = [
        newline.join([header, *(assignment(toml_key(key), v) for key, v in table.items())])
        for table in tables
    ]
    written = "".join(f"\n\n{block}" for block in blocks)
    written = written.replace("\r\n", "\n").replace("\n", newline)
    if node.said_from or node.kind is not Kind.BLOCK:
        at = _line_end(text, max(each.end for each in node.inside()))
        return [(at, at, written)]
    at = len(text.rstrip())
    return [(at, len(text), written.removeprefix(newline * 2 * (at == 0)) + newline)]


def _appending(text: str, node: Node, value: Any) -> list[_Cut]:
    """One entry more in a list, on a line of its own where the last one stands on one."""
    if not node.entries:
        return [(node.start, node.end, f"[{inline(value)}]")]
    last = node.entries[-1]
    indent = text[_line_start(text, last.start) : last.start]
    line_end = _line_end(text, last.end)
    if indent.strip() or node.end <= line_end:
        return [(last.end, last.end, f", {inline(value)}")]
    comma = re.match(r"[ \t]*,", text[last.end : line_end])
    line = f"{_newline(text)}{indent}{inline(value)},"
    return [*([] if comma else [(last.end, last.end, ",")]), (line_end, line_end, line)]


def _joining(node: Node, key: str, value: Any) -> list[_Cut]:
    """One key more in an inline table."""
    if not node.keys:
        return [(node.start, node.end, inline({key: value}))]
    at = max(each.end for each in node.inside() if each is not node)
    return [(at, at, f", {toml_key(key)} = {inline(value)}")]


def _removing(text: str, holder: Node, step: Step) -> list[_Cut]:
    """The cuts that take out one value of a node."""
    if isinstance(step, str) and holder.kind is not Kind.INLINE:
        return _lines_of(text, holder.keys[step])
    if holder.kind is Kind.BLOCKS:
        return _lines_of(text, holder.entries[int(step)])
    parts = list(holder.keys.values() if isinstance(step, str) else holder.entries)
    number = list(holder.keys).index(step) if isinstance(step, str) else int(step)
    part = parts[number]
    start, end = _line_start(text, part.said_from), _line_end(text, part.end)
    if len(parts) == 1:
        return [(holder.start, holder.end, "{}" if isinstance(step, str) else "[]")]
    if not text[start : part.said_from].strip() and end < holder.end:
        return [(start, end + len(_newline(text)), "")]  # it has lines of its own
    if number + 1 < len(parts):
        return [(part.said_from, parts[number + 1].said_from, "")]
    return [(parts[number - 1].end, part.end, "")]


def _lines_of(text: str, node: Node) -> list[_Cut]:
    """All lines of a value, those of the blocks inside it and the blank ones behind each block."""
    if node.kind in (Kind.SCALAR, Kind.LIST, Kind.INLINE):
        end = _line_end(text, node.end) + len(_newline(text))
        return [(_line_start(text, node.said_from), end, "")]
    cuts: list[_Cut] = []
    if node.kind is Kind.BLOCK:
        end = _line_end(text, node.end)
        blank = re.compile(r"\s*(?=\n)\n|\s*$").match(text, end)
        cuts.append((_line_start(text, node.start), blank.end() if blank else end, ""))
    within = [*node.keys.values(), *node.entries]
    covered = node.kind is Kind.BLOCK
    for each in within:
        if not (covered and each.end <= node.end):
            cuts += _lines_of(text, each)
    return cuts


def _applied(text: str, cuts: Sequence[_Cut]) -> str:
    for start, end, added in sorted(cuts, reverse=True):
        text = text[:start] + added + text[end:]
    return text


def _newline(text: str) -> str:
    return "\r\n" if "\r\n" in text else "\n"


def _line_start(text: str, at: int) -> int:
    return text.rfind("\n", 0, at) + 1


def _line_end(text: str, at: int) -> int:
    """Where the line ends, before its newline."""
    end = text.find("\n", at)
    end = len(text) if end < 0 else end
    return end - (text[end - 1 : end] == "\r")


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
