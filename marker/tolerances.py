"""Tolerances in mm, each named once.

A tolerance stands here when several rooms must agree on it. What only one algorithm uses, and may
tune, stands with that algorithm.
"""

from __future__ import annotations

HAIR_MM = 1e-6
"""A float's dust: lengths that differ by less are the same."""

GRID_MM = 0.001
"""Outlines are rounded to this grid before their no-fit polygon is made; sums on it are exact."""

WIDTH_MM = 0.001
"""Rounding of outlines may cost this much of the width of the cloth."""

PLAY_MM = 0.005
"""Outlines may lap by about this much and still count as free, so that a piece can slide into a
place of exactly its own size. The compaction takes it back."""

SAME_POINT_MM = 0.01
"""Points of a drawing that are nearer than this are one point."""

ON_FOLD_MM = 0.01
"""The ends of a fold line lie no farther from the fold than this."""

JUDGED_MM = 0.02
"""How far a layout may stray from exactness: lapping, off the cloth, short of the gap, past the end
of the cloth on hand."""

SAME_LINE_MM = 0.02
"""Lines nowhere farther apart than this are one line; edges that differ less are equally long."""

STRAIGHT_MM = 0.2
"""A line that nowhere bends by more counts as straight: nobody cuts straighter (no source)."""

PROVEN_WITHIN_MM = 0.5
"""A length so near to its proven bound counts as proven shortest."""

MATCHED_MM = 1.0
"""How far two points may miss one another in the repeat, and an edge its border (no source)."""
