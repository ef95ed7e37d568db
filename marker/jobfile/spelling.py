"""A job file in one spelling: its 'center front' and its 'centre front' are the same place."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from marker.files.faults import FaultList
from marker.words import respelled, spelled_words

# keys whose texts name no part of the job: they are kept to the letter
_TO_THE_LETTER = ("path", "drawing", "rules", "currency")


def in_its_own_spelling(raw: Mapping[str, Any], faults: FaultList) -> dict[str, Any]:
    """The tables with each word spelled everywhere as the file first spells it.

    So names and references to them agree, and people read them as they write them. Two keys of one
    table that are then the same are noted.
    """
    spelling: dict[str, str] = {}
    for text in _texts(raw):
        for word, ours in spelled_words(text):
            spelling.setdefault(ours, word)
    return {
        key: value if key in _TO_THE_LETTER else _respelled(value, spelling, key, faults)
        for key, value in raw.items()
    }


def _texts(value: Any) -> Iterator[str]:
    """Every key and text inside, in the order of the file."""
    if isinstance(value, str):
        yield value
    elif isinstance(value, list):
        for each in value:
            yield from _texts(each)
    elif isinstance(value, Mapping):
        for key, each in value.items():
            yield key
            if key not in _TO_THE_LETTER:
                yield from _texts(each)


def _respelled(value: Any, spelling: Mapping[str, str], place: str, faults: FaultList) -> Any:
    if isinstance(value, str):
        return respelled(value, spelling)
    if isinstance(value, list):
        return [
            _respelled(each, spelling, f"{place}[{number}]", faults)
            for number, each in enumerate(value, 1)
        ]
    if not isinstance(value, Mapping):
        return value
    table: dict[str, Any] = {}
    for key, each in value.items():
        name = respelled(key, spelling)
        if name in table:
            problem = f"it is there twice, spelled '{name}' and '{key}'"
            faults.add(f"{place}.{key}", problem, "Give it once")
        inner = f"{place}.{key}"
        table[name] = each if key in _TO_THE_LETTER else _respelled(each, spelling, inner, faults)
    return table
