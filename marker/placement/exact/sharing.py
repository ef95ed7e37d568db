"""Which pieces from which remnant: CP-SAT proposes, placement disposes.

A proposal respects the areas and every refusal so far. What placement then cannot lay is refused,
so that it is never proposed again, nor is more on the same remnant (logic-based Benders
decomposition: Hooker & Ottosson 2003).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

AREA_UNIT_MM2 = 1.0
SECONDS = 10.0
"""For one proposal; areas and refusals alone take a moment."""

Share = tuple[int, ...]
"""How many of each kind of piece one remnant gets."""


@dataclass(frozen=True)
class Refusal:
    """A share that does not lie on a remnant: proven, or only not found."""

    remnant: int
    share: Share
    proven: bool


@dataclass
class Sharing:
    """Kinds of pieces to be shared out.

    wanted : how many of each kind. areas_mm2 : of one of each kind. rooms_mm2 : of each remnant.
    gave_up : it took too long to tell whether there is another proposal.
    """

    wanted: Share
    areas_mm2: Sequence[float]
    rooms_mm2: Sequence[float]
    refusals: list[Refusal] = field(default_factory=list)
    gave_up: bool = False

    def refuse(self, remnant: int, share: Share, proven: bool) -> None:
        """Never propose this share, or more, for this remnant."""
        self.refusals.append(Refusal(remnant, share, proven))

    def forget_unproven(self) -> bool:
        """Let what was only not found be tried again; whether there was any."""
        proven = [refusal for refusal in self.refusals if refusal.proven]
        changed = len(proven) < len(self.refusals)
        self.refusals = proven
        return changed

    @property
    def all_proven(self) -> bool:
        """Whether nothing was refused, or given up, without a proof."""
        return not self.gave_up and all(refusal.proven for refusal in self.refusals)

    def propose(self) -> tuple[Share, ...] | None:
        """A share for each remnant, which fills them as evenly as can be; None if none is left."""
        from ortools.sat.python import cp_model

        model = cp_model.CpModel()
        counts = [[model.new_int_var(0, most, "") for most in self.wanted] for _ in self.rooms_mm2]
        for kind, wanted in enumerate(self.wanted):
            model.add(sum(each[kind] for each in counts) == wanted)
        fill = model.new_int_var(0, 1000, "thousandths of the fullest remnant")
        areas = [int(area / AREA_UNIT_MM2) for area in self.areas_mm2]  # rounded down: never strict
        for each, room in zip(counts, self.rooms_mm2, strict=True):
            used = sum(area * count for area, count in zip(areas, each, strict=True))
            model.add(1000 * used <= (int(room / AREA_UNIT_MM2) + 1) * fill)
        for refusal in self.refusals:
            fewer = []
            for kind, count in enumerate(refusal.share):
                if count:
                    less = model.new_bool_var("")
                    model.add(counts[refusal.remnant][kind] < count).only_enforce_if(less)
                    fewer.append(less)
            model.add_bool_or(fewer)
        model.minimize(fill)
        solver = cp_model.CpSolver()
        solver.parameters.num_workers = 1
        solver.parameters.catch_sigint_signal = False
        solver.parameters.max_time_in_seconds = SECONDS
        status = solver.solve(model)
        if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
            self.gave_up = self.gave_up or status != cp_model.INFEASIBLE
            return None
        return tuple(tuple(int(solver.value(count)) for count in each) for each in counts)
