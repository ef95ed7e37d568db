"""The kernel benchmark still runs, with all it times."""

from __future__ import annotations

import pytest

from tests.benchmarks.kernels import main


def test_every_kernel_is_timed(capsys: pytest.CaptureFixture[str]) -> None:
    main(["--pieces", "20", "--repeats", "1"])
    rows = [line.split("|")[1:-1] for line in capsys.readouterr().out.splitlines()]
    assert rows[0][0].strip() == "kernel"
    names = [row[0].strip() for row in rows[2:]]
    assert {"full move", "grid of a pair", "compaction of 20 pieces"} <= set(names)
    assert len(names) == 8
    for _, calls, timing in rows[2:]:
        assert int(calls) > 0
        assert float(timing.split()[0]) > 0.0
