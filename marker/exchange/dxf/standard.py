"""The layers and words of ASTM D6673, Standard Practice for Sewn Products Pattern Data Interchange.

Numbers from the published excerpts of the standard; that 4 and 80 to 83 are notches of different
shapes, 84 to 87 curves for validation, from format notes on it.
"""

from __future__ import annotations

from marker.exchange.strokes import Layer

STANDARD_TEXT = "ASTM/D13Proposal 1 Version: D 6673-10"
# what the text or key Units says -> mm; METRIC is millimetres, from memory
UNIT_WORDS = {"metric": 1.0, "mm": 1.0, "english": 25.4, "inch": 25.4, "inches": 25.4, "cm": 10.0}

BOUNDARY, TURN_POINTS, CURVE_POINTS, NOTCHES = "1", "2", "3", "4"
MIRROR_LINE, GRAIN_LINE, INTERNAL_LINES, CUTOUTS = "6", "7", "8", "11"
DRILL_HOLES, SEW_LINES, ANNOTATION = "13", "14", "15"
GRADE_REFERENCE = "5"

LAYER_OF = {
    BOUNDARY: Layer.CUT,
    TURN_POINTS: Layer.TURN_POINTS,
    NOTCHES: Layer.NOTCHES,
    MIRROR_LINE: Layer.FOLD,
    GRAIN_LINE: Layer.GRAIN,
    INTERNAL_LINES: Layer.INNER,
    CUTOUTS: Layer.CUTOUT,
    DRILL_HOLES: Layer.DRILL,
    SEW_LINES: Layer.STITCHING,
    ANNOTATION: Layer.LABELS,
    "80": Layer.NOTCHES,
    "81": Layer.NOTCHES,
    "82": Layer.NOTCHES,
    "83": Layer.NOTCHES,
}

# what has no place in a job: layer -> what the report calls it
LEFT_OUT = {
    GRADE_REFERENCE: "grade reference lines",
    "9": "stripe reference lines",
    "10": "plaid reference lines",
    "84": "validation curves",
    "85": "validation curves",
    "86": "validation curves",
    "87": "validation curves",
}
OUTLINES = {BOUNDARY, SEW_LINES}
NUMBERS = LAYER_OF.keys() | LEFT_OUT.keys() | {CURVE_POINTS, "12"}
