"""Words are understood in either spelling."""

from __future__ import annotations

import pytest

from marker.words import ONE_SIZE, printable, respelled, spelled_as, spelled_words, with_size


def test_sizes_are_told_where_there_are_any() -> None:
    assert with_size("skirt", "38") == "skirt, size 38"
    assert with_size("skirt", "36", "38") == "skirt, sizes 36, 38"
    assert with_size("skirt", ONE_SIZE) == "skirt"


@pytest.mark.parametrize(
    ("typed", "known"),
    [
        ("center front", "centre front"), ("Centre Front", "center front"),
        ("gray fibers", "grey fibres"), ("selvedge", "selvage"),
        ("cover stitched", "cover-stitched"),
        ("Twin-Needle", "twin-needle"), ("mitered", "mitred"), ("crossways", "crosswise"),
        ("end_allowance", "end allowance"), ("side", "side"),
    ],
)  # fmt: skip
def test_either_spelling_is_meant(typed: str, known: str) -> None:
    assert spelled_as(typed, ["back", known]) == known
    assert spelled_as(known, ["back", typed]) == typed


@pytest.mark.parametrize("typed", ["centr", "graze", "colouring", "epicenter", "front", ""])
def test_other_words_are_other_words(typed: str) -> None:
    assert spelled_as(typed, ["centre", "grey", "coloring", "epicentre", "fronts"]) is None


def test_a_known_word_is_itself() -> None:
    assert spelled_as("Side", ["side", "Side"]) == "Side"


def test_words_of_a_text_in_another_spelling() -> None:
    assert spelled_words("Center of the gray center") == [
        ("Center", "Centre"), ("gray", "grey"), ("center", "centre")
    ]  # fmt: skip
    assert respelled("centre front, grey", {"centre": "center"}) == "center front, grey"


def test_no_terminal_obeys_what_is_printed() -> None:
    asked = "a\x1b[31mb\x9b1m\u202ec\udc80 d\u00a0e\n"
    assert printable(asked) == "a\\x1b[31mb\\x9b1m\\u202ec\\udc80 d\u00a0e\n"
