"""One benchmark run: an instance, a seed, a time."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from marker.placement.params import DEFAULT, PlacementParams
from marker.placement.solve import solve
from marker.placement.stop import Progress, after_iterations, at_bound, first_of
from tests.benchmarks.fresh import peak_memory_mb
from tests.benchmarks.instance import Instance, InstancePiece, instance_outline
from tests.benchmarks.strip import findings, stored_layout, strip_of
from tests.benchmarks.watch import Watch


@dataclass(frozen=True)
class Run:
    """What a run gave.

    density : per cent. length : in the instance's own units.
    seconds, history : of wall or processor time, as asked for; the latter holds (seconds, density)
        at each improvement, from the call of `solve`.
    judged : whether the judge passed the final layout.
    """

    name: str
    seed: int
    density: float
    length: float
    seconds: float
    history: tuple[tuple[float, float], ...]
    judged: bool
    first_seconds: float
    peak_memory_mb: float
    iterations: int


def run(
    instance: Instance,
    seconds: float,
    seed: int,
    workers: int,
    processor_time: bool = False,
    params: PlacementParams = DEFAULT,
) -> tuple[Run, dict[str, Any], tuple[str, ...]]:
    """Lay the instance with the product's general settings.

    processor_time : `seconds` are of the workers' own time, each, in place of wall time.

    Returns the run, its layout in the stored form, and what the judge found wrong with that.
    Peak memory is taken before judging.
    """
    strip = strip_of(instance)
    warm_up(workers)
    watch = Watch(workers if processor_time else 0)
    stop = first_of(watch.after(seconds), at_bound())
    result = solve(strip.problem, stop, seed, workers, watch.note, params)
    took, memory = watch.seconds, peak_memory_mb()
    stored = stored_layout(strip, result, seed)
    wrong = tuple(str(finding) for finding in findings(strip, stored))
    history = tuple((at, instance.density(length / strip.scale)) for at, length in watch.history)
    done = Run(
        name=instance.name,
        seed=seed,
        density=stored["density"],
        length=stored["length"],
        seconds=took,
        history=history,
        judged=not wrong,
        first_seconds=history[0][0],
        peak_memory_mb=memory,
        iterations=result.iterations,
    )
    return done, stored, wrong


def warm_up(workers: int) -> None:
    """A tiny solve, so that the kernels' machine code is loaded before the clock starts."""
    square = instance_outline([(0.0, 0.0), (4.0, 0.0), (4.0, 4.0), (0.0, 4.0)])
    tiny = Instance("tiny", 7.0, (InstancePiece("square", 3, (0.0,), square),))
    solve(strip_of(tiny).problem, after_iterations(2), 0, workers, _in_silence)


def _in_silence(progress: Progress) -> None:
    """Nobody watches a benchmark."""
