"""Published densities, per cent, of the ESICUP instances used here.

Density = area of pieces ÷ (length × width). The row of swim is for the set as published; copies
with coordinates cut to whole units have a slightly different area, so compare lengths, too.

SAHA: Gomes & Oliveira, European Journal of Operational Research 171(3), 2006, 811-829, best run.
ELS: Leung, Lin & Zhang 2012; GCS: Elkeran 2013; FLD: Wang et al. 2017; RPM: Sato et al. 2019;
averages over their runs, as quoted by
G25: Gardeyn, Vanden Berghe & Wauters, arXiv 2509.13329 (2025), tables 2 and 3: 20 minutes,
3 threads of a fast desktop processor, 100 runs.
dighe1, dighe2: squares cut up, so 100 is the optimum.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Published:
    """What the literature reached on one instance, None where it gives no figure.

    earlier : figures published before 2025, by method. mean_2025 : average of G25.
    best : best of any run published.
    """

    earlier: dict[str, float]
    mean_2025: float | None
    best: float

    @property
    def floor(self) -> float | None:
        """The highest figure published before 2025."""
        return max(self.earlier.values(), default=None)

    @property
    def reference(self) -> float:
        """What times are measured against: the average of 2025, or the best without one."""
        return self.best if self.mean_2025 is None else self.mean_2025


def _row(
    figures: tuple[float | None, float | None, float | None, float | None, float | None],
    mean_2025: float,
    best: float,
) -> Published:
    methods = ("SAHA", "ELS", "GCS", "FLD", "RPM")
    earlier = {
        method: figure
        for method, figure in zip(methods, figures, strict=True)
        if figure is not None
    }
    return Published(earlier, mean_2025, best)


PUBLISHED = {
    "albano": _row((87.43, 87.38, 87.47, 88.01, 87.55), 89.47, 89.82),
    "blaz": _row((83.59, 82.55, 82.40, None, 83.02), 84.68, 86.23),
    "fu": _row((90.96, 90.00, 90.68, 91.17, 91.95), 92.24, 92.41),
    "mao": _row((80.00, 82.57, 82.93, 82.28, 83.76), 86.14, 86.87),
    "shirts": _row((86.79, 87.20, 87.59, 88.21, 87.62), 89.66, 90.92),
    "swim": _row((74.37, 74.10, 74.49, 74.66, 74.29), 78.26, 79.83),
    "trousers": _row((89.96, 88.29, 89.02, 89.17, 90.48), 91.73, 92.62),
    "dighe1": Published({}, None, 100.0),
    "dighe2": Published({}, None, 100.0),
}


SMALL_OPTIMA = {
    "three": 6.0,
    "threep2": 9.333,
    "threep2w9": 8.0,
    "shapes4_small": 24.0,
    "fu5_r0": 17.889,
    "fu6_r0": 23.0,
    "fu7_r0": 24.0,
    "fu8_r0": 24.0,
    "J1_10_10_3": 20.75,
    "J1_12_20_0": 12.0,
    "J1_12_20_1": 10.0,
}
"""Optimal lengths of subsets used in exact studies, in the instances' units: Alvarez-Valdes,
Martinez & Tamarit, International Journal of Production Economics 145, 2013, 463-477, and later
studies, as told in the instances' README. J1_10_10_3 is for positions on a grid of 1/60,
J1_12_20_0 and J1_12_20_1 on whole units, so the true optimum may be less. The 17 told for
J1_10_10_2 is less than its area ÷ width and is left out."""
