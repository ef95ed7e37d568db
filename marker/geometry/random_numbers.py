"""Random numbers inside compiled kernels.

They come from a state array that the caller owns. So a run is repeatable, and several threads can
work side by side without the interpreter lock.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from marker.geometry.kernels import kernel

RandomState = NDArray[np.uint64]


def random_state(seed: int | tuple[int, ...]) -> RandomState:
    """A state of its own for each seed, (1,)."""
    return np.random.SeedSequence(seed).generate_state(1, np.uint64) | np.uint64(1)


@kernel(inline=True)
def uniform(rng: RandomState) -> float:
    """Next random number in [0, 1): xorshift64* (Vigna 2016)."""
    s = rng[0]
    s ^= s >> np.uint64(12)
    s ^= s << np.uint64(25)
    s ^= s >> np.uint64(27)
    rng[0] = s
    return float((s * np.uint64(2685821657736338717)) >> np.uint64(11)) / 9007199254740992.0
