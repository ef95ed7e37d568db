"""Turns away drawings that do more than draw, before anything is built from them."""

from __future__ import annotations

import re
from typing import NoReturn
from xml.parsers import expat

from marker.files.budget import Most
from marker.files.faults import Unusable

_OUTSIDE = re.compile(r"@import|url\(\s*(?:['\"]\s*)?(?!#)[^\s)'\"]", re.IGNORECASE)
_PLAIN = "Save it again as a plain SVG drawing"


def screen(content: bytes) -> None:
    """Raise Unusable for scripts, entities, references to anything outside, or absurd nesting.

    The expat parser walks the file without building it and stops at the first offence, so that
    no entity is ever expanded and no encoding hides one.
    """
    parser = expat.ParserCreate()
    depth = 0

    def start(name: str, attributes: dict[str, str]) -> None:
        nonlocal depth
        depth += 1
        Most.SVG_DEPTH.demand(depth)
        _check_element(name, attributes)

    def end(_name: str) -> None:
        nonlocal depth
        depth -= 1

    parser.StartElementHandler = start
    parser.EndElementHandler = end
    parser.StartDoctypeDeclHandler = _check_doctype
    parser.EntityDeclHandler = _refuse_entity
    parser.ProcessingInstructionHandler = _check_instruction
    parser.CharacterDataHandler = _check_text
    parser.buffer_text = True
    try:
        parser.Parse(content, True)
    except expat.ExpatError as error:
        raise Unusable(
            f"it is not well-formed SVG (line {error.lineno}, column {error.offset + 1})", _PLAIN
        ) from error
    except (ValueError, LookupError) as error:  # encodings that expat does not know
        raise Unusable("its encoding can't be read", "Save it again in UTF-8") from error


def _check_element(name: str, attributes: dict[str, str]) -> None:
    if _local(name) == "script":
        raise Unusable("it holds a script", _PLAIN)
    for key, value in attributes.items():
        if _local(key).startswith("on"):
            raise Unusable(f"it holds a script ({key})", _PLAIN)
        if _local(key) == "href" and not value.strip().startswith("#"):
            raise Unusable(f"it refers to something outside itself ({value[:40]!r})", _PLAIN)
        _check_text(value)


def _check_text(text: str) -> None:
    if _OUTSIDE.search(text):
        raise Unusable("its style refers to something outside itself", _PLAIN)


def _check_doctype(
    _name: str, _system: str | None, _public: str | None, has_internal_subset: bool
) -> None:
    if has_internal_subset:
        raise Unusable("its DOCTYPE declares entities or other rules of its own", _PLAIN)


def _refuse_entity(*_declaration: object) -> NoReturn:
    raise Unusable("it declares an entity", _PLAIN)


def _check_instruction(target: str, _data: str) -> None:
    if target == "xml-stylesheet":
        raise Unusable("it refers to a style sheet outside itself", _PLAIN)


def _local(name: str) -> str:
    return name.rsplit(":", 1)[-1].lower()
