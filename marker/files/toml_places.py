"""Where in a TOML text its keys, entries and tables stand.

The parsers at hand tell no places. This one reads sound TOML only (a parser has accepted it before)
and keeps nothing but the places. Grammar: TOML 1.0.
"""

from __future__ import annotations

import re
import tomllib
from bisect import bisect_right
from collections.abc import Iterator
from dataclasses import dataclass, field
from enum import Enum
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
_NUMBER = re.compile(r"[ \t\r\n]*([-+0-9.]+)[ \t\r\n]*,")
# steps of a place: entries of a list '[2]', those of [[tables]] 'piece 2', both with their name
_ENTRY = re.compile(r"\[(?P<number>\d+)\](?: \([^)]*\)?)?")
_LISTED = re.compile(r"(?P<key>[a-z]+) (?P<number>\d+)(?: \([^)]*\)?)?(?=,|$)")


class Kind(Enum):
    """How a value is written.

    BLOCK : a table under a header of its own, or the top of the file. BLOCKS : the list of those
    under [[headers]] of one name. AROUND : a table that no line writes, such as the one around
    [cloth.jersey] or order.38.
    """

    SCALAR = "scalar"
    LIST = "list"
    INLINE = "inline table"
    BLOCK = "table"
    BLOCKS = "list of tables"
    AROUND = "table around others"


@dataclass(slots=True)
class Node:
    """A value and where it stands: text[start:end], without the line's end.

    A block runs from its header to its last key. said_from : where the key begins that says it.
    """

    kind: Kind
    start: int
    end: int = 0
    said_from: int = 0
    keys: dict[str, Node] = field(default_factory=dict)
    entries: list[Node] = field(default_factory=list)

    def under(self, key: str, start: int) -> Node:
        """The table of a key, for lists of blocks the last one; made if it is not there."""
        node = self.keys.setdefault(key, Node(Kind.AROUND, start, start, start))
        return node.entries[-1] if node.kind is Kind.BLOCKS else node

    def inside(self) -> Iterator[Node]:
        """The node and every one inside it."""
        yield self
        for node in (*self.keys.values(), *self.entries):
            yield from node.inside()


def places(text: str) -> Node:
    """The top of a sound TOML text, with everything inside it."""
    return _Scan(text).document()


class TomlLines:
    """The lines of one text; it is read when the first line is asked for."""

    def __init__(self, text: str) -> None:
        self._text = text

    def line(self, place: str) -> int:
        """Line, from 1, of a place as messages name it: 'piece 2 (back), notches[1].at'.

        A key that is missing has the line on which its table begins. 0 where nothing of the place
        is found.
        """
        node = self._top
        rest = place
        while rest:
            step = _step_in(node, rest)
            if step is None:
                break
            node, rest = step
        return 0 if node is self._top else bisect_right(self._ends, node.start - 1) + 1

    @cached_property
    def _top(self) -> Node:
        try:
            return places(self._text)
        except RecursionError:
            return Node(Kind.BLOCK, 0)

    @cached_property
    def _ends(self) -> list[int]:
        return [match.start() for match in re.finditer("\n", self._text)]


def _step_in(node: Node, place: str) -> tuple[Node, str] | None:
    """The value one step along, and the rest of the place."""
    place = place.lstrip(" ,.")
    step = _ENTRY.match(place)
    holder: Node | None = node
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

    def document(self) -> Node:
        top = table = Node(Kind.BLOCK, 0)
        while self._blank():
            if self._text.startswith("[", self._at):
                table = self._header(top)
            else:
                self._assignment(table)
                table.end = self._at
        return top

    def _header(self, top: Node) -> Node:
        start = self._at
        listed = self._take("[[") or not self._take("[")
        *path, key = self._path("]]" if listed else "]")
        holder = _down(top, path, start)
        if listed:
            block = Node(Kind.BLOCK, start, self._at, start)
            blocks = holder.keys.setdefault(key, Node(Kind.BLOCKS, start, start, start))
            blocks.entries.append(block)
            return block
        block = holder.keys.setdefault(key, Node(Kind.BLOCK, start, self._at, start))
        block.kind, block.start, block.said_from, block.end = Kind.BLOCK, start, start, self._at
        return block

    def _assignment(self, table: Node) -> None:
        start = self._at
        *path, key = self._path("=")
        holder = _down(table, path, start)
        holder.keys[key] = value = self._value()
        value.said_from = start
        if path:
            holder.end = value.end

    def _value(self) -> Node:
        self._blank()
        node = Node(Kind.SCALAR, self._at)
        if self._take("["):
            node.kind = Kind.LIST
            self._numbers(node)
            while self._blank() and not self._take("]"):
                entry = self._value()
                entry.said_from = entry.start
                node.entries.append(entry)
                self._blank()
                self._take(",")
        elif self._take("{"):
            node.kind = Kind.INLINE
            while self._blank() and not self._take("}"):
                self._assignment(node)
                self._blank()
                self._take(",")
        else:
            scalar = _SCALAR.match(self._text, self._at)
            self._at = scalar.end() if scalar else len(self._text)
        node.end = self._at
        return node

    def _numbers(self, node: Node) -> None:
        """The plain numbers that a list begins with; most lists hold nothing else."""
        while number := _NUMBER.match(self._text, self._at):
            start, end = number.span(1)
            node.entries.append(Node(Kind.SCALAR, start, end, start))
            self._at = number.end()

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

    def _blank(self) -> bool:
        """Go on to the next sign; whether there is one."""
        blank = _BLANK.match(self._text, self._at)
        self._at = blank.end() if blank else self._at
        return self._at < len(self._text)

    def _take(self, sign: str) -> bool:
        found = self._text.startswith(sign, self._at)
        self._at += len(sign) * found
        return found


def _down(node: Node, path: list[str], start: int) -> Node:
    for key in path:
        node = node.under(key, start)
    return node
