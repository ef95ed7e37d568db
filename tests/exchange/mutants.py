"""Files with small random faults, each the same for the same seed."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

_PIECES = (b"", b"-1e308", b"nan", b"1e999", b"\x00", b"{}", b"[", b"]", b"<<", b"999999999999",
           b"\xff\xfe", b"\\ud800", b"\x1b[31m", b"true", b"null", b"Z", b"M")  # fmt: skip


def mutants(content: bytes, count: int, seed: int) -> Iterator[bytes]:
    """The file with one to four places cut out, doubled, swapped or overwritten."""
    rng = np.random.default_rng(seed)
    for _ in range(count):
        changed = content
        for _ in range(int(rng.integers(1, 5))):
            changed = _changed(changed, rng)
        yield changed


def _changed(content: bytes, rng: np.random.Generator) -> bytes:
    start = int(rng.integers(0, len(content) + 1))
    end = min(len(content), start + int(rng.geometric(0.1)))
    match int(rng.integers(0, 4)):
        case 0:
            return content[:start] + content[end:]
        case 1:
            return content[:end] + content[start:end] * 2 + content[end:]
        case 2:
            return content[:start] + _PIECES[int(rng.integers(len(_PIECES)))] + content[end:]
        case _:
            other = int(rng.integers(0, len(content) + 1))
            return content[:start] + content[other : other + end - start] + content[end:]
