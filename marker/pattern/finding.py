"""What is wrong with a pattern that can still be cut, and what its maker does about it."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class Severity(StrEnum):
    """ERROR : it cannot be sewn as drawn. WARNING : it may be meant, and is worth a look."""

    ERROR = "error"
    WARNING = "warning"


@dataclass(frozen=True)
class Finding:
    """One thing found.

    code : what kind, the same for every garment: 'seam-length'.
    piece, seam : where; empty if it is about neither.
    size : the size in which it was found.
    message, remedy : for a person; the remedy says which edit corrects it and by how much.
    """

    code: str
    severity: Severity
    piece: str
    seam: str
    size: str
    message: str
    remedy: str
