"""What one file may take is added up wherever it is taken."""

from __future__ import annotations

import pytest

from marker.files.budget import Budget, Most
from marker.files.faults import Unusable


def test_what_is_taken_adds_up() -> None:
    budget = Budget()
    for _ in range(3):
        budget.take(Most.INSERTED, 1_600)
    budget.take(Most.SVG_ELEMENTS, 1_600)  # another kind
    with pytest.raises(Unusable, match="more than 5000 entities") as raised:
        budget.take(Most.INSERTED, 201)
    assert raised.value.remedy
    Budget().take(Most.INSERTED, 201)  # another file


def test_time_is_taken_too() -> None:
    budget = Budget(seconds=0.0)
    with pytest.raises(Unusable, match="longer than any pattern") as raised:
        budget.take(Most.SVG_ELEMENTS)
    assert raised.value.remedy


@pytest.mark.parametrize("what", [each for each in Most if each.problem])
def test_one_too_many_is_refused_in_words(what: Most) -> None:
    what.demand(what.most)
    with pytest.raises(Unusable) as raised:
        what.demand(what.most + 1)
    assert "{" not in raised.value.problem
