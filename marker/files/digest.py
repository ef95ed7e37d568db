"""A short name for what a value holds: two values with the same contents have the same.

A field that holds its default is left out, so that a name lasts when a type gains such a field.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterator, Mapping
from dataclasses import MISSING, Field, fields, is_dataclass
from typing import Any

import numpy as np

_PLACES = 4  # of a number, a ten-thousandth of a millimetre: other machines round the last bits
_CHARACTERS = 32  # 128 bits: two values do not share one by chance


def digest(value: object) -> str:
    """SHA-256 (FIPS 180-4), shortened, of dataclasses, arrays, mappings, sequences and numbers.

    The order of a mapping counts. Fields don't that are not compared, or that hold their default.
    Raises TypeError for anything else.
    """
    total = hashlib.sha256()
    for part in _parts(value):
        total.update(part)
    return total.hexdigest()[:_CHARACTERS]


def _parts(value: Any) -> Iterator[bytes]:
    """The bytes of a value, each kind marked, so that no two values are written alike."""
    if is_dataclass(value):
        yield f"<{type(value).__name__}".encode()
        for field in (field for field in fields(value) if field.compare):
            held = b"".join(_parts(getattr(value, field.name)))
            if held != _default(field):
                yield f".{field.name}=".encode()
                yield held
        yield b">"
    elif isinstance(value, np.ndarray):
        yield f"a{value.shape}".encode()
        yield (np.round(np.asarray(value, dtype=np.float64), _PLACES) + 0.0).tobytes()
    elif isinstance(value, str):
        yield f"s{len(value)}:{value}".encode("utf-8", "surrogatepass")
    elif value is None or isinstance(value, bool | int):
        yield f"{value};".encode()
    elif isinstance(value, float):
        yield f"{round(value, _PLACES) + 0.0!r};".encode()
    elif isinstance(value, Mapping):
        yield f"m{len(value)}".encode()
        for key, held in value.items():
            yield from _parts(key)
            yield from _parts(held)
    elif isinstance(value, tuple | list):
        yield f"t{len(value)}".encode()
        for held in value:
            yield from _parts(held)
    elif isinstance(value, frozenset | set):
        yield f"f{len(value)}".encode()
        yield from sorted(b"".join(_parts(held)) for held in value)
    else:
        raise TypeError(f"no digest of a {type(value).__name__}")


def _default(field: Field[Any]) -> bytes | None:
    """The bytes of what a field holds where nothing is said; None where that must be said."""
    if field.default is not MISSING:
        return b"".join(_parts(field.default))
    if field.default_factory is not MISSING:
        return b"".join(_parts(field.default_factory()))
    return None
