"""Words that several rooms use: a number with what it counts, spellings, and the cautions."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Mapping, Sequence

ONE_SIZE = "one size"
"""The only size of what comes in no sizes. Where it would be told, nothing is."""

# words that people spell in two ways, and the one they are compared in
_SPELLINGS = {
    "center": "centre",
    "centered": "centred",
    "color": "colour",
    "colored": "coloured",
    "crossways": "crosswise",
    "fiber": "fibre",
    "gage": "gauge",
    "gray": "grey",
    "labeled": "labelled",
    "lengthways": "lengthwise",
    "meter": "metre",
    "mitered": "mitred",
    "mold": "mould",
    "pajama": "pyjama",
    "selvedge": "selvage",
}
_EVERY_WORD = "|".join([*_SPELLINGS, *_SPELLINGS.values()])
_SPELLED = re.compile(rf"(?<![^\W\d_])(?:{_EVERY_WORD})(?=s?(?![^\W\d_]))", re.IGNORECASE)


def size_words(sizes: Sequence[str]) -> str:
    """'size 38', 'sizes 36, 38'; nothing of what comes in no sizes."""
    if list(sizes) == [ONE_SIZE]:
        return ""
    return f"size{'s' * (len(sizes) > 1)} {', '.join(sizes)}"


def with_size(text: str, *sizes: str) -> str:
    """'skirt front, size 38'; the text alone where it comes in no sizes."""
    return ", ".join(filter(None, [text, size_words(sizes)]))


def garment_counts(garments: Mapping[str, int]) -> str:
    """'3 × S, 2 × M'; '5 garments' of what comes in no sizes. garments : size -> how many."""
    if list(garments) == [ONE_SIZE]:
        return counted(garments[ONE_SIZE], "garment")
    return ", ".join(f"{number} × {size}" for size, number in garments.items())


def size_headings(sizes: Sequence[str], alone: str) -> list[str]:
    """Heads of columns that count garments of each size; `alone` where there are no sizes."""
    return [alone] if list(sizes) == [ONE_SIZE] else list(sizes)


def spelled_words(text: str) -> list[tuple[str, str]]:
    """(word as it stands, word as it is compared) of those that are spelled in two ways."""
    return [(each, _ours(each)) for each in _SPELLED.findall(text)]


def respelled(text: str, spelling: Mapping[str, str]) -> str:
    """The text with such words spelled otherwise: compared word -> how to spell it."""
    return _SPELLED.sub(lambda each: spelling.get(_ours(each[0]), each[0]), text)


def _ours(word: str) -> str:
    ours = _SPELLINGS.get(word.lower(), word.lower())
    return ours.capitalize() if word[0].isupper() else ours


def spelled_as(word: str, known: Iterable[str]) -> str | None:
    """The known word that is meant by a word, however either is spelled; None if there is none.

    Capitals, hyphens and underscores make no difference, unless the word itself is known.
    """
    names = list(known)
    if word in names:
        return word
    return next((name for name in names if _plain(name) == _plain(word)), None)


def _plain(text: str) -> str:
    ours = _SPELLED.sub(lambda each: _ours(each[0]), text)
    return " ".join(re.split(r"[\s_-]+", ours.casefold())).strip()


def printable(text: str) -> str:
    """The text with its control characters spelled out, so that no terminal obeys them."""
    return "".join(
        each
        if each.isprintable() or each == "\n" or unicodedata.category(each) == "Zs"
        else each.encode("unicode_escape").decode()
        for each in text
    )


def counted(number: int, noun: str) -> str:
    """'1 garment', '2 garments', '2 plies', '2 notches'."""
    if number == 1:
        return f"{number} {noun}"
    if noun.endswith("ch"):
        return f"{number} {noun}es"
    return f"{number} {noun[:-1]}ies" if noun.endswith("ly") else f"{number} {noun}s"


def lettered(number: int) -> str:
    """The n-th letter, from 1: A to Z, then AA, AB and so on."""
    text, left = "", number
    while left:
        left, digit = divmod(left - 1, 26)
        text = chr(ord("A") + digit) + text
    return text


BLADES = (
    "Shears, rotary blades and irons cut and burn: close the guard, wear a cut-proof glove on the "
    "hand that holds the cloth, and let local rules come first."
)
"""On what is cut or ironed by."""

CORDS = (
    "Cords and ties on children's clothes have rules of their own, such as EN 14682 or ASTM F1816: "
    "look up those that hold where you are."
)
"""Where a strip finishes nothing, and may be a tie."""
