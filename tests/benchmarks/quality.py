"""Layout quality on open instances: `python -m tests.benchmarks.quality --help`."""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Sequence
from dataclasses import asdict
from pathlib import Path
from typing import Any

from marker.errors import FaultyInput, MarkerError
from marker.placement.params import DEFAULT
from tests.benchmarks.folder import ROOT, default_folder, instance_files, read_instance
from tests.benchmarks.fresh import in_fresh_process
from tests.benchmarks.instance import Instance
from tests.benchmarks.options import changed, numbers, positive, positive_count, words
from tests.benchmarks.run import Run, run, warm_up
from tests.benchmarks.strip import strip_of
from tests.benchmarks.table import quality_table


def main(arguments: Sequence[str] | None = None) -> int:
    """Exit code: 0 if the judge passed every layout, 1 if not or if an instance can't be laid,
    2 for a faulty file or option, 130 when stopped by Ctrl-C."""
    parser = _parser()
    options = parser.parse_args(arguments)
    try:
        options.params = DEFAULT.with_changes(dict(options.set))
    except ValueError as error:
        parser.error(str(error))
    try:
        files = instance_files(options.instances, options.names)
        instances = [read_instance(path, options.turns) for path in files]
        for instance in instances:
            strip_of(instance)  # refuse now, not after hours of other runs
        runs = _all_runs(instances, options)
    except KeyboardInterrupt:
        print(f"stopped; finished runs are in {options.json}", file=sys.stderr)
        return 130
    except MarkerError as error:
        print(error, file=sys.stderr)
        return 2 if isinstance(error, FaultyInput) else 1
    print(quality_table(runs))
    return 0 if all(done.judged for done in runs) else 1


def _all_runs(instances: Sequence[Instance], options: argparse.Namespace) -> list[Run]:
    """One run after another; the results so far are on disk after each."""
    options.json.parent.mkdir(parents=True, exist_ok=True)
    options.layouts.mkdir(parents=True, exist_ok=True)
    _write(options.json, [])
    in_fresh_process(warm_up, options.workers)  # so that no run's memory holds the compiler
    runs: list[Run] = []
    for instance in instances:
        for seed in range(options.seeds):
            done, stored, wrong = in_fresh_process(
                run,
                instance,
                options.seconds,
                seed,
                options.workers,
                options.processor_time,
                options.params,
            )
            runs.append(done)
            _write(options.layouts / f"{instance.name}-{seed}.json", stored)
            _write(options.json, [asdict(each) for each in runs])
            print(
                f"{done.name} seed {seed}: {done.density:.2f} % in {done.seconds:.1f} s",
                *wrong,
                sep="\n  judge: ",
                file=sys.stderr,
            )
    return runs


def _write(path: Path, data: Any) -> None:
    path.write_text(json.dumps(data, allow_nan=False) + "\n", encoding="utf-8")


def _parser() -> argparse.ArgumentParser:
    outputs = ROOT / "outputs" / "benchmarks"
    parser = argparse.ArgumentParser("python -m tests.benchmarks.quality", description=__doc__)
    add = parser.add_argument
    add("--instances", type=Path, default=default_folder(), help="folder of instance files")
    add("--names", type=words, help="instances to run, such as shirts,swim (default: all)")
    add("--turns", type=numbers, help="keep only these of the file's turns, such as 0,180")
    add("--seconds", type=positive, default=60.0, help="wall time of a run (default 60)")
    add("--seeds", type=positive_count, default=3, help="runs an instance (default 3)")
    add("--workers", type=positive_count, default=2, help="threads of a run (default 2)")
    add("--processor-time", action="store_true", help="seconds are of each worker's own time")
    add(
        "--set", type=changed, action="extend", default=[], metavar="PART.NAME=NUMBER", dest="set",
        help="change parameters of placement, such as search.spells=40,heats.settled=1000",
    )  # fmt: skip
    add("--json", type=Path, default=outputs / "quality.json", help="where results are written")
    add("--layouts", type=Path, default=outputs / "layouts", help="folder for the layouts")
    return parser


if __name__ == "__main__":
    sys.exit(main())
