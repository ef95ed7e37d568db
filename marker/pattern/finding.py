"""What is wrong with a pattern that can still be cut, and what its maker does about it."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class Severity(StrEnum):
    """ERROR : it cannot be sewn as drawn. WARNING : it may be meant, and is worth a look."""

    ERROR = "error"
    WARNING = "warning"


class FindingCode(StrEnum):
    """What kind of finding it is, the same for every garment."""

    ONE_HAND = "one-hand"
    NO_ALLOWANCE = "no-allowance"
    WIDE_ALLOWANCE = "wide-allowance"
    DRAWN_SMALL = "drawn-small"
    DART_LEGS = "dart-legs"
    SEAM_LENGTH = "seam-length"
    SEAM_JOINT = "seam-joint"
    SEAM_NOTCH = "seam-notch"
    OPENING_ORDER = "opening-order"
    STRETCH_BEYOND_CLOTH = "stretch-beyond-cloth"
    BAND_RIPPLES = "band-ripples"
    JOIN_NEAR_POINT = "join-near-point"
    GIRTH_TOO_SMALL = "girth-too-small"
    OPENING_TOO_SMALL = "opening-too-small"
    GREATEST_STRETCH_NOT_AROUND_BODY = "greatest-stretch-not-around-body"
    TOP_ASSUMED = "top-assumed"
    CLOTH_STRETCHES_TOO_LITTLE = "cloth-stretches-too-little"


@dataclass(frozen=True)
class Finding:
    """One thing found.

    piece, seam : where; empty if it is about neither.
    size : the size in which it was found.
    message, remedy : for a person; the remedy says which edit corrects it and by how much.
    """

    code: FindingCode
    severity: Severity
    piece: str
    seam: str
    size: str
    message: str
    remedy: str
