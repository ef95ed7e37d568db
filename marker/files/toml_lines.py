"""The lines of a TOML text on which its keys and entries stand.

The parsers at hand tell no places. This one reads sound TOML only (a parser has accepted it before)
and keeps nothing but the places. Grammar: TOML 1.0.
"""

from __future__ import annotations

import re
import tomllib
from bisect import bisect_right
from dataclasses import dataclass, field
from functools import cached_property

_BLANK = re.compile(r"(?:[ \t\r\n]|#[^\n]*)*")
_KEY = re.compile(r"[A-Za-z0-9_-]+|\"(?:[^\"\\\n]|\\.)*\"|'[^'\n]*'")
_SCALAR = re.compile(
    r'"""(?:[^"\\]|\\.|"{1,2}(?!"))*"{3,5}'
    r"|'''(?:[^']|'{1,2}(?!'))*'{3,5}"
    r'|"(?:[^"\\\n]|\\.)*"'
    r"|'[^'\n]*'"
    r"|[^\s,\]}#]+(?: [0-9][^\s,\]}#]*)?",  # a date and its time may have a space between
    re.DOTALL,
)
# steps of a place: entries of a list '[2]', those of [[tables]] 'piece 2', both with their name
_ENTRY = re.compile(r"\[(?P<number>\d+)\](?: \([^)]*\)?)?")
_LISTED = re.compile(r"(?P<key>[a-z]+) (?P<number>\d+)(?: \([^)]*\)?)?(?=,|$)")


@dataclass
class _Node:
    """Where a value begins, and what stands inside it."""

    line: int
    keys: dict[str, _Node] = field(default_factory=dict)
    entries: list[_Node] = field(default_factory=list)

    def under(self, key: str, line: int) -> _Node:
        """The value of a key; for [[tables]] of this name, the last one."""
        node = self.keys.setdefault(key, _Node(line))
        return node.entries[-1] if node.entries else node


class TomlLines:
    """The lines of one text; it is read when the first line is asked for."""

    def __init__(self, text: str) -> None:
        self._text = text

    def line(self, place: str) -> int:
        """Line, from 1, of a place as messages name it: 'piece 2 (back), notches[1].at'.

        What is not written there is looked for as far as the text goes: a missing key stands where
        its table begins. 0 where nothing of it is found.
        """
        node = self._root
        while place:
            step = _step_in(node, place)
            if step is None:
                break
            node, place = step
        return node.line

    @cached_property
    def _root(self) -> _Node:
        try:
            return _Scan(self._text).document()
        except RecursionError:
            return _Node(0)


def _step_in(node: _Node, place: str) -> tuple[_Node, str] | None:
    """The value one step along, and the rest of the place."""
    place = place.lstrip(" ,.")
    step = _ENTRY.match(place)
    holder: _Node | None = node
    if step is None and (step := _LISTED.match(place)):
        holder = node.keys.get(step["key"])
    if step and holder and 0 < int(step["number"]) <= len(holder.entries):
        return holder.entries[int(step["number"]) - 1], place[step.end() :]
    known = [key for key in node.keys if re.match(re.escape(key) + r"(?![^.,\[])", place)]
    key = max(known, key=len, default="")
    return (node.keys[key], place[len(key) :]) if key else None


class _Scan:
    """One pass over a text."""

    def __init__(self, text: str) -> None:
        self._text, self._at = text, 0
        self._ends = [match.start() for match in re.finditer("\n", text)]

    def document(self) -> _Node:
        root = table = _Node(0)
        while self._blank():
            line = self._line()
            if self._take("[["):
                *path, key = self._path("]]")
                holder = self._down(root, path, line)
                listed = holder.keys.setdefault(key, _Node(line))
                table = _Node(line)
                listed.entries.append(table)
            elif self._take("["):
                table = self._down(root, self._path("]"), line)
            else:
                self._assignment(table)
        return root

    def _assignment(self, table: _Node) -> None:
        line = self._line()
        *path, key = self._path("=")
        holder = self._down(table, path, line)
        holder.keys[key] = self._value()

    def _value(self) -> _Node:
        self._blank()
        node = _Node(self._line())
        if self._take("["):
            while self._blank() and not self._take("]"):
                node.entries.append(self._value())
                self._blank()
                self._take(",")
        elif self._take("{"):
            while self._blank() and not self._take("}"):
                self._assignment(node)
                self._blank()
                self._take(",")
        else:
            scalar = _SCALAR.match(self._text, self._at)
            self._at = scalar.end() if scalar else len(self._text)
        return node

    def _path(self, end: str) -> list[str]:
        """A key's parts, and past the sign that ends it."""
        parts: list[str] = []
        while self._blank() and not self._take(end):
            key = _KEY.match(self._text, self._at)
            if key is None:
                self._at += 1  # the dot between two parts
                continue
            self._at = key.end()
            plain = key[0][0] not in "\"'"
            parts.append(key[0] if plain else tomllib.loads(f"key = {key[0]}")["key"])
        return parts

    def _down(self, node: _Node, path: list[str], line: int) -> _Node:
        for key in path:
            node = node.under(key, line)
        return node

    def _blank(self) -> bool:
        """Go on to the next sign; whether there is one."""
        blank = _BLANK.match(self._text, self._at)
        self._at = blank.end() if blank else self._at
        return self._at < len(self._text)

    def _take(self, sign: str) -> bool:
        found = self._text.startswith(sign, self._at)
        self._at += len(sign) * found
        return found

    def _line(self) -> int:
        return bisect_right(self._ends, self._at - 1) + 1 if self._at else 1
