"""What is said of letters that could not be drawn."""

from __future__ import annotations

from collections.abc import Iterator

from marker.canvas.fonts import NO_LETTER, letters_lost


def missing_letters() -> Iterator[str]:
    """A sentence where the drawings made so far lack letters that no font of this machine has."""
    missing = letters_lost()
    if missing:
        yield (
            f"no font of this machine has {' '.join(missing)}; '{NO_LETTER}' is drawn in their "
            f"place. Install a TrueType font that has them, and draw again."
        )
