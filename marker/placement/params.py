"""Every number of placement that can be tuned, each part beside its algorithm, gathered in one."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, fields, replace
from difflib import get_close_matches

from marker.placement.checking import ascending, positive, share
from marker.placement.exact.questions import ExactParams
from marker.placement.lp.compaction import CompactionParams
from marker.placement.lp.tilt import TiltParams
from marker.placement.search.first_layouts import FirstLayoutParams
from marker.placement.search.perturbation import PerturbationParams
from marker.placement.search.state import SeparationParams
from marker.placement.search.strategy import HeatParams
from marker.placement.search.trajectory import SearchParams
from marker.placement.search.windows import WindowParams
from marker.placement.tables.overlap_grids import GridParams


@dataclass(frozen=True)
class StageParams:
    """When each stage of a run has its turn, in shares of the allowance.

    start : after it no further ordering is tried for a start: a thousand pieces take long.
    exact_from, exact_share : the exact model gets its turn after the first, and at most the second
    of what is left then. A length that it has not proven by that time is searched on, from other
    starts.
    bound_from, bound_share : the same for a bound that rests on the largest items. There the exact
    model can be asked of half of all items at least, but not of the whole job before the search.
    effort_per_iteration : CP-SAT's deterministic seconds for each iteration left, where iterations
    are the limit.
    tilt_from : after it pieces that may tilt are turned by any angle.
    """

    start: float = 0.05
    exact_from: float = 0.1
    exact_share: float = 0.5
    bound_from: float = 0.5
    bound_share: float = 0.3
    effort_per_iteration: float = 0.05
    tilt_from: float = 0.95

    def __post_init__(self) -> None:
        share(self, "start", "exact_from", "exact_share", "bound_from", "bound_share", "tilt_from")
        positive(self, "effort_per_iteration")
        ascending(self, "exact_from", "bound_from", "tilt_from")


@dataclass(frozen=True)
class PlacementParams:
    """All parameters. The parts are those of the modules that read them."""

    stages: StageParams = field(default_factory=StageParams)
    first: FirstLayoutParams = field(default_factory=FirstLayoutParams)
    grids: GridParams = field(default_factory=GridParams)
    heats: HeatParams = field(default_factory=HeatParams)
    windows: WindowParams = field(default_factory=WindowParams)
    search: SearchParams = field(default_factory=SearchParams)
    separation: SeparationParams = field(default_factory=SeparationParams)
    perturbation: PerturbationParams = field(default_factory=PerturbationParams)
    compaction: CompactionParams = field(default_factory=CompactionParams)
    exact: ExactParams = field(default_factory=ExactParams)
    tilt: TiltParams = field(default_factory=TiltParams)

    def with_changes(self, changes: Mapping[str, str | float]) -> PlacementParams:
        """The same with some numbers changed, each named by its part: {"search.spells": 40}.

        Texts are read as numbers. Raises ValueError for a name that there is not, for what is not a
        number, and for a value that the part does not allow.
        """
        changed = self
        for name, value in changes.items():
            part, _, key = name.partition(".")
            if name not in changed.numbers():
                raise ValueError(f"there is no {name}. {_nearest(name, changed.numbers())}")
            own = getattr(changed, part)
            number = type(getattr(own, key))(value)
            changed = replace(changed, **{part: replace(own, **{key: number})})
        return changed

    def numbers(self) -> dict[str, float]:
        """Name -> value of everything that `with_changes` can change."""
        return {
            f"{part.name}.{each.name}": value
            for part in fields(self)
            for each in fields(getattr(self, part.name))
            if isinstance(value := getattr(getattr(self, part.name), each.name), int | float)
        }


def _nearest(name: str, known: Mapping[str, float]) -> str:
    near = get_close_matches(name, known, 1, 0.0)
    return f"Did you mean {near[0]}?"


DEFAULT = PlacementParams()
