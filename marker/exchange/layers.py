"""What a line of a pattern drawing is for, and the names by which drawings say so."""

from __future__ import annotations

import re
from enum import StrEnum


class Layer(StrEnum):
    """The layers of a pattern drawing, by their names in this project's convention."""

    CUT = "cut line"
    STITCHING = "stitching line"
    CUTOUT = "cut-outs"
    FOLD = "fold line"
    GRAIN = "grain line"
    NOTCHES = "notches"
    INNER = "inner lines"
    DRILL = "drill holes"
    TURN_POINTS = "turn points"
    LABELS = "labels"


_OTHER_NAMES = {  # words that people give their layers
    "cut": Layer.CUT,
    "cutting line": Layer.CUT,
    "outline": Layer.CUT,
    "stitch line": Layer.STITCHING,
    "seam line": Layer.STITCHING,
    "sewing line": Layer.STITCHING,
    "sew line": Layer.STITCHING,
    "cutout": Layer.CUTOUT,
    "cut out": Layer.CUTOUT,
    "hole": Layer.CUTOUT,
    "fold": Layer.FOLD,
    "mirror line": Layer.FOLD,
    "grain": Layer.GRAIN,
    "grainline": Layer.GRAIN,
    "internal line": Layer.INNER,
    "marking": Layer.INNER,
    "text": Layer.LABELS,
}


def _plain(name: str) -> str:
    """'Cut_Lines 2' -> 'cut line': case, joins, a plural s and a number at the end don't count."""
    words = re.sub(r"[\s_-]+", " ", name).strip().lower()
    return re.sub(r"\s*\d+$", "", words).removesuffix("s")


_LONGEST = 60  # a search for digits at the end takes the square of a name's length
_BY_NAME = {_plain(layer): layer for layer in Layer} | {
    _plain(name): layer for name, layer in _OTHER_NAMES.items()
}


def layer_named(name: str) -> Layer | None:
    """The layer that a name means, None for any other name."""
    return _BY_NAME.get(_plain(name)) if len(name) <= _LONGEST else None
