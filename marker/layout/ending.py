"""Why a search ended: one member each, and its words for people."""

from __future__ import annotations

from enum import StrEnum

from marker.tolerances import PROVEN_WITHIN_MM


class Ending(StrEnum):
    """Why the search for a layout ended. The value is what people read, and what is stored."""

    TIME_UP = "time is up"
    ITERATIONS_UP = "iteration limit"
    BY_HAND = "stopped by hand"
    SHORT_ENOUGH = "short enough"
    HOPELESS = "proven not to become short enough"
    PROVEN = "proven shortest"
    PROVEN_CLOSELY = f"proven shortest to within {PROVEN_WITHIN_MM} mm"
    CUT_PROVEN = "this way to cut it is proven shortest"
    OPENED = "a folded layout, opened"
    HAND_MADE = "changed by hand"
    UNKNOWN = "nobody knows why it ended"

    @classmethod
    def stored(cls, words: str) -> Ending:
        """The member that a file's words mean; UNKNOWN for words of another program's."""
        return next((each for each in cls if each.value == words), cls.UNKNOWN)
