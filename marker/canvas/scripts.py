"""Text that runs from right to left, in the order and with the letter forms in which it is drawn.

Order by the Unicode Bidirectional Algorithm (UAX #9) for one line without explicit marks of
direction; it runs from left to right as a whole if any letter of it does. Forms of joined letters
by the Unicode standard, section 9.2; which letter joins on which side follows from the presentation
forms that Unicode lists.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import cache
from itertools import chain, pairwise
from unicodedata import bidirectional, decomposition

_RIGHT_TO_LEFT = {"R", "AL", "AN"}
_NEUTRAL = {"B", "S", "WS", "ON", "BN"}
_BRACKETS = "()[]{}<>«»‹›"
_MIRRORED = dict(zip(_BRACKETS, (_BRACKETS[k ^ 1] for k in range(len(_BRACKETS))), strict=True))
_APART = re.compile(r"(^[0-9]+\. |(?<!\S)[0-9]+  | [·–] |, |: )")
_LEFT_ISOLATE, _RIGHT_ISOLATE, _END_ISOLATE = "\u2066", "\u2067", "\u2069"
_LAM, _TATWEEL = "\u0644", "\u0640"


def as_drawn(text: str) -> str:
    """The letters from left to right as they stand on paper; most text is that already.

    What is set apart by a comma or a dot in the middle stays in its place, and so does a number
    before a name.
    """
    if not _turns(text):
        return text
    return "".join(map(_ordered, _APART.split(text)))


def isolated(text: str) -> str:
    """The same for a program that orders and joins letters by itself, such as a browser."""
    if not _turns(text):
        return text
    return "".join(
        f"{_LEFT_ISOLATE if _has_left(part) else _RIGHT_ISOLATE}{part}{_END_ISOLATE}"
        for part in _APART.split(text)
        if part
    )


def _turns(text: str) -> bool:
    return any(bidirectional(each) in _RIGHT_TO_LEFT for each in text)


def _has_left(text: str) -> bool:
    """Whether it runs from left to right as a whole: some letter of it does, or none turns."""
    return not _turns(text) or any(bidirectional(each) == "L" for each in text)


def _ordered(text: str) -> str:
    if not _turns(text):
        return text
    clusters = _clusters("".join(_joined(text)))
    whole = "L" if _has_left(text) else "R"
    levels = _levels([bidirectional(each[0]) or "L" for each in clusters], whole)
    drawn = [
        _MIRRORED.get(each, each) if level % 2 else each
        for each, level in zip(clusters, levels, strict=True)
    ]
    order = list(range(len(drawn)))
    for level in range(max(levels), 0, -1):  # rule L2
        inside = "".join("x" if levels[k] >= level else " " for k in order)
        for run in re.finditer("x+", inside):
            order[run.start() : run.end()] = order[run.start() : run.end()][::-1]
    return "".join(drawn[k] for k in order)


def _clusters(text: str) -> list[str]:
    """Each letter with the marks above and below it (rule L3)."""
    found: list[str] = []
    for each in text:
        if found and bidirectional(each) == "NSM":
            found[-1] += each
        else:
            found.append(each)
    return found


def _levels(kinds: list[str], whole: str) -> list[int]:
    """The level of each letter of these bidirectional types: 0 reads to the right, 1 to the left, 2
    are figures within what reads to the left.

    whole : the direction of the line, "L" or "R".
    """
    strong = whole
    for k, kind in enumerate(kinds):  # rules W2, W3, W7
        if kind in ("L", "R", "AL"):
            strong = kind
        if kind == "EN" and strong == "AL":
            kinds[k] = "AN"
        elif kind == "EN" and strong == "L":
            kinds[k] = "L"
    kinds = ["R" if kind == "AL" else kind for kind in kinds]
    for k in range(1, len(kinds) - 1):  # rule W4
        if kinds[k - 1] == kinds[k + 1] and (kinds[k], kinds[k - 1]) in (
            ("ES", "EN"), ("CS", "EN"), ("CS", "AN"), ("ES", "L"), ("CS", "L"),
        ):  # fmt: skip
            kinds[k] = kinds[k - 1]
    # rules W5, W6: signs of units stay with their figures
    for order in (range(1, len(kinds)), range(len(kinds) - 2, -1, -1)):
        step = -1 if order.step > 0 else 1
        for k in order:
            if kinds[k] == "ET" and kinds[k + step] == "EN":
                kinds[k] = "EN"
    _settle(kinds, whole)
    return [{"L": 0, "R": 1}.get(kind, 2) for kind in kinds]


def _settle(kinds: list[str], whole: str) -> None:
    """Give what has no direction that of both its neighbours, else the line's (rules N1, N2)."""
    neutral = _NEUTRAL | {"ES", "ET", "CS"}
    signs = "".join("n" if kind in neutral else "l" if kind == "L" else "r" for kind in kinds)
    for run in re.finditer("n+", signs):
        around = (signs[run.start() - 1 : run.start()], signs[run.end() : run.end() + 1])
        kind = "R" if around == ("r", "r") else whole
        kinds[run.start() : run.end()] = [kind] * len(run[0])


def _joined(text: str) -> Iterator[str]:
    """The letters in the forms that they have beside one another."""
    forms, ligatures = _forms()
    spoken = [k for k, each in enumerate(text) if bidirectional(each) != "NSM"]
    after = dict(pairwise(spoken))
    before = {following: each for each, following in after.items()}

    def joins_on(k: int | None, way: str) -> bool:
        """Whether a letter joins the next one, or, by its final form, the one before."""
        return k is not None and (text[k] == _TATWEEL or way in forms.get(text[k], {}))

    skipped = -1
    for k, each in enumerate(text):
        previous, following = before.get(k), after.get(k)
        back = joins_on(previous, "initial") and joins_on(k, "final")
        on = joins_on(k, "initial") and joins_on(following, "final")
        pair = each + text[following] if each == _LAM and following == k + 1 else ""
        if k == skipped:
            continue
        if pair in ligatures:
            skipped = k + 1
            yield ligatures[pair]["final" if back else "isolated"]
            continue
        form = "medial" if back and on else "final" if back else "initial" if on else "isolated"
        yield forms.get(each, {}).get(form, each)


@cache
def _forms() -> tuple[dict[str, dict[str, str]], dict[str, dict[str, str]]]:
    """Letter -> its forms by name, and the same of the ligatures of lam with alef."""
    forms: dict[str, dict[str, str]] = {}
    ligatures: dict[str, dict[str, str]] = {}
    for code in chain(range(0xFE70, 0xFF00), range(0xFB50, 0xFE00)):
        form, *codes = decomposition(chr(code)).split() or [""]
        letters = "".join(chr(int(each, 16)) for each in codes)
        name = form.strip("<>")
        if name not in ("isolated", "final", "initial", "medial"):
            continue
        if len(letters) == 1:
            forms.setdefault(letters, {}).setdefault(name, chr(code))
        elif len(letters) == 2 and letters[0] == _LAM and letters[1] in "\u0622\u0623\u0625\u0627":
            ligatures.setdefault(letters, {}).setdefault(name, chr(code))
    return forms, ligatures
