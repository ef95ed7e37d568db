"""Everything the pattern's checks find, in the order a maker would mend it."""

from __future__ import annotations

from collections.abc import Sequence

from marker.cloth.fabric import Cloth
from marker.pattern.bands.band_findings import bands_findings
from marker.pattern.bands.stretch_findings import stretch_findings
from marker.pattern.bands.strips import StripPlan
from marker.pattern.finding import Finding
from marker.pattern.hands import hand_findings
from marker.pattern.pattern import Pattern
from marker.pattern.seams.seam_report import seam_reports


def pattern_findings(
    pattern: Pattern, plans: Sequence[StripPlan], cloths: Sequence[Cloth]
) -> tuple[Finding, ...]:
    """Hands first, then seams, bands, and stretch.

    plans : the pattern's strips, planned on these cloths.
    """
    seams = [finding for report in seam_reports(pattern) for finding in report.findings]
    stretch = stretch_findings(pattern, plans, cloths)
    return (*hand_findings(pattern), *seams, *bands_findings(plans), *stretch)
