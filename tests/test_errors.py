"""Errors come through from the processes that lay markers."""

from __future__ import annotations

import pickle

import pytest

from marker.errors import Fault, FaultyInput, MarkerError, StoppedEarly
from marker.judge.finding import Code, Finding, JudgeRefused
from marker.orders.feasible import NoPlan
from marker.pattern.repeats.match import CannotMatch


@pytest.mark.parametrize(
    "error",
    [
        CannotMatch("both run on", "Leave one out", match="side"),
        FaultyInput([Fault("job.toml", "it is empty", "Write something")]),
        JudgeRefused([Finding(Code.OVERLAP, ("front", "back"), "they overlap")]),
        NoPlan("too few markers", ()),
        StoppedEarly(),
    ],
    ids=lambda error: type(error).__name__,
)
def test_an_error_is_whole_in_another_process(error: MarkerError) -> None:
    there = pickle.loads(pickle.dumps(error))
    assert type(there) is type(error)
    assert (str(there), vars(there)) == (str(error), vars(error))
