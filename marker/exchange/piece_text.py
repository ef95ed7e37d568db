"""What is written on a piece, as lines 'Key: value' in drawings of any format.

Piece Name, Size and Quantity are the keys of ASTM D6673 (from format notes; key spelling varies, so
it is read without regard to case). The others are ours; programs that do not know them show them
as annotation.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field, replace

from marker.exchange.flat_piece import FlatPiece
from marker.files.values import MOST_COPIES

PIECE_NAME, SIZE, QUANTITY = "Piece Name", "Size", "Quantity"
MIRRORED, CLOTH, TURNS, TOLERANCE = "Mirrored", "Cloth", "Turns", "Grain Tolerance"
_OTHER_KEYS = {  # as real files spell them; from memory
    "name": PIECE_NAME,
    "piece": PIECE_NAME,
    "size name": SIZE,
    "qty": QUANTITY,
    "cut": QUANTITY,
    "material": CLOTH,
    "fabric": CLOTH,
}
_KEYS = {
    key.lower(): key for key in (PIECE_NAME, SIZE, QUANTITY, MIRRORED, CLOTH, TURNS, TOLERANCE)
} | _OTHER_KEYS


LONGEST_KEY = 60


@dataclass
class Written:
    """What the texts of one piece say: known keys, and lines that are no known key."""

    values: dict[str, str] = field(default_factory=dict)
    others: list[str] = field(default_factory=list)


def system_lines(piece: FlatPiece) -> Iterator[str]:
    """The lines that ASTM D6673 has a key for."""
    yield f"{PIECE_NAME}: {piece.name}"
    if piece.size:
        yield f"{SIZE}: {piece.size}"
    yield f"{QUANTITY}: {piece.cut}"


def annotation_lines(piece: FlatPiece) -> Iterator[str]:
    """The lines under keys of our own, and the note."""
    if piece.mirrored:
        yield f"{MIRRORED}: {piece.mirrored}"
    if piece.cloth:
        yield f"{CLOTH}: {piece.cloth}"
    if piece.turns != (0.0, 180.0):
        yield f"{TURNS}: {', '.join(f'{turn:.10g}' for turn in piece.turns)}"
    if piece.grain_tolerance_deg:
        yield f"{TOLERANCE}: {piece.grain_tolerance_deg:.10g}"
    if piece.note:
        yield piece.note


def read_lines(texts: Iterable[str]) -> Written:
    """The lines sorted; of a key that is there twice, the first counts (real files repeat them)."""
    written = Written()
    for text in texts:
        for line in text.splitlines():
            key, value = pair_in(line)
            if key in _KEYS:
                written.values.setdefault(_KEYS[key], value)
            elif line.strip() and line.strip() not in written.others:
                written.others.append(line.strip())
    return written


def read_pairs(texts: Iterable[str]) -> dict[str, str]:
    """Every 'Key: value' by its key in small letters; of a key that is there twice the first."""
    pairs: dict[str, str] = {}
    for text in texts:
        key, value = pair_in(text)
        if key:
            pairs.setdefault(key, value)
    return pairs


def is_piece_key(text: str) -> bool:
    """Whether a text is 'Key: value' under a key that speaks of a piece."""
    return pair_in(text)[0] in _KEYS


def pair_in(text: str) -> tuple[str, str]:
    """Key, in small letters, and value of 'Key: value'; the key is "" where there is none."""
    key, _, value = text.partition(":")
    key = key.strip()
    is_pair = ":" in text and len(key) <= LONGEST_KEY
    return (key.lower(), value.strip()) if is_pair else ("", "")


_NO_NAME = re.compile(
    r"(?:page|seite|sheet|tile|row|col(?:umn)?|[a-z]{1,2})?\s*[\d.,/x×-]+(?:\s*(?:of|von|/)\s*\d+)?"
    r"|.*\b(?:cut|fold|grain|grainline|size|print|scale|test|copyright|stretch|page)\b.*"
    r"|.*(?:©|www\.|https?:).*"
    r"|[^\W\d]",  # such as the letter of a notch
    re.IGNORECASE,
)


def sounds_like_a_name(text: str) -> bool:
    """Whether a line of text may be what a piece is called, and is no number or instruction."""
    return any(c.isalpha() for c in text) and not _NO_NAME.fullmatch(text.strip()[:LONGEST_KEY])


def with_texts(piece: FlatPiece, written: Written) -> tuple[FlatPiece, list[str]]:
    """The piece with what its texts say, and the lines of them that could not be understood."""
    values, unread = written.values, []
    turns, tolerance = piece.turns, piece.grain_tolerance_deg
    cut, mirrored = _counts(values.get(QUANTITY, ""))
    if QUANTITY in values and not cut:
        unread.append(f"{QUANTITY}: {values[QUANTITY]}")
    if MIRRORED in values:
        given = values[MIRRORED]
        mirrored = int(given) if re.fullmatch(r"\d{1,3}", given) else -1
    if mirrored and 2 * mirrored != cut:
        unread.append(f"{MIRRORED}: {values.get(MIRRORED, mirrored)} of {cut or 1}")
        mirrored = 0
    if TURNS in values:
        numbers = _numbers(values[TURNS])
        if numbers and all(0 <= number < 360 for number in numbers):
            turns = tuple(numbers)
        else:
            unread.append(f"{TURNS}: {values[TURNS]}")
    if TOLERANCE in values:
        numbers = _numbers(values[TOLERANCE])
        if len(numbers) == 1 and 0 <= numbers[0] <= 180:
            tolerance = numbers[0]
        else:
            unread.append(f"{TOLERANCE}: {values[TOLERANCE]}")
    told = replace(
        piece,
        name=values.get(PIECE_NAME) or piece.name,
        size=values.get(SIZE, piece.size),
        cloth=values.get(CLOTH, piece.cloth),
        cut=cut or 1,
        mirrored=mirrored,
        turns=turns,
        grain_tolerance_deg=tolerance,
    )
    return told, unread


def _counts(text: str) -> tuple[int, int]:
    """(both hands together, mirrored) of '2' or '1,1'; (0, 0) of anything else."""
    found = re.fullmatch(r"(\d{1,3})(?:\s*[,;/]\s*(\d{1,3}))?", text)
    if not found:
        return 0, 0
    mirrored = int(found[2] or 0)
    total = int(found[1]) + mirrored
    return (total, mirrored) if 1 <= total <= MOST_COPIES else (0, 0)


def _numbers(text: str) -> list[float]:
    parts = [part for part in re.split(r"[,;\s]+", text) if part]
    if not all(re.fullmatch(r"\d{1,3}(\.\d{1,12})?", part) for part in parts):
        return []
    return [float(part) for part in parts]
