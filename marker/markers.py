"""Several markers laid at once, each in a process of its own."""

from __future__ import annotations

import multiprocessing
import signal
from collections.abc import Callable, Mapping, Sequence
from concurrent.futures import FIRST_COMPLETED, Future, ProcessPoolExecutor, wait
from dataclasses import dataclass
from threading import Event
from typing import Any

from marker.cloth.fabric import Cloth
from marker.job import Job
from marker.layout import CheckedLayout
from marker.plan import Limits, lay, loads, spread

_ASK_AGAIN_SECONDS = 0.2

_stop: Any = None  # of a worker process: set once its parent wants no more


@dataclass(frozen=True)
class Effort:
    """What each marker gets: seconds or iterations of search, and where it starts from.

    processes : how many markers are laid at a time, each on one core.
    """

    seconds: float | None
    iterations: int | None
    seed: int = 0
    processes: int = 2


def lay_markers(
    job: Job,
    cloth: Cloth,
    mixes: Sequence[Mapping[str, int]],
    effort: Effort,
    interrupted: Event,
    on_laid: Callable[[CheckedLayout], None],
) -> list[CheckedLayout]:
    """The marker of each mix (size -> garments) on one of the job's cloths, judged.

    The same markers by seed and iterations, however many processes there are. Once interrupted,
    each ends with the best it has. Raises what laying one of them raises.
    """
    context = multiprocessing.get_context("spawn")  # a fork would copy the threads of the kernels
    stop = context.Event()
    processes = min(effort.processes, len(mixes))
    with ProcessPoolExecutor(processes, context, _begin, (stop,)) as pool:
        futures: list[Future[CheckedLayout]] = [
            pool.submit(_laid, job.with_order(mix), cloth.name, effort) for mix in mixes
        ]
        waiting = set(futures)
        while waiting:
            done, waiting = wait(waiting, _ASK_AGAIN_SECONDS, FIRST_COMPLETED)
            for future in done:
                on_laid(future.result())
            if interrupted.is_set():
                stop.set()
    return [future.result() for future in futures]


def _begin(stop: Any) -> None:
    """In a worker: Ctrl-C is for the parent, who passes it on."""
    global _stop
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    _stop = stop


def _laid(job: Job, cloth_name: str, effort: Effort) -> CheckedLayout:
    cloth = next(cloth for cloth in job.cloths if cloth.name == cloth_name)
    (load,) = loads(job, [cloth])
    limits = Limits(effort.seconds, effort.iterations, effort.seed, 1, _stop)
    return lay(spread(load, cloth.spread), limits, lambda _: None)
