"""Something pushed along by an arrow key: the presses within a moment are one step to undo."""

from __future__ import annotations

import time
from dataclasses import dataclass

NUDGED = "nudged"
"""Says in a request that it comes of an arrow key."""

MOMENT_SECONDS = 1.5
"""Between what came of one press and the next: a person looks, and presses again."""


@dataclass
class Nudges:
    """The presses made so far. Whatever else is done in between ends them.

    thing : what is pushed, None for what comes of no arrow key. now : what there is of it all.
    """

    _thing: str | None = None
    _made: object = None
    _until: float = 0.0

    def go_on(self, thing: str | None, now: object) -> bool:
        """Whether a press goes on from the last one."""
        pushed = thing is not None and thing == self._thing
        return pushed and now == self._made and time.monotonic() < self._until

    def made(self, thing: str | None, now: object) -> None:
        """A press, or something else, has led to this."""
        self._thing, self._made = thing, now
        self._until = time.monotonic() + MOMENT_SECONDS
