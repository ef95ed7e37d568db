"""Signals as a wish to stop."""

from __future__ import annotations

import signal
from contextlib import suppress

import pytest

from marker.cli.running import LeftOut, StopSignals


def test_a_wish_to_leave_drawings_out_is_not_lost_where_python_drops_what_is_raised() -> None:
    signals = StopSignals()
    signals.note(signal.SIGINT, None)

    def drawn() -> None:
        with suppress(LeftOut):  # as a finaliser does
            signals.note(signal.SIGINT, None)

    with pytest.raises(LeftOut), signals.may_be_left_out():
        drawn()


def test_what_nobody_wishes_to_leave_out_goes_on() -> None:
    signals = StopSignals()
    signals.note(signal.SIGINT, None)
    with signals.may_be_left_out():
        pass
    signals.note(signal.SIGINT, None)
    with pytest.raises(LeftOut), signals.may_be_left_out():
        raise AssertionError("it was begun")
