"""Everything the pattern's checks find, in the order a maker would mend it."""

from __future__ import annotations

from marker.job import Job
from marker.pattern.bands.band_findings import bands_findings
from marker.pattern.bands.stretch_findings import stretch_findings
from marker.pattern.finding import Finding
from marker.pattern.hands import hand_findings
from marker.pattern.seams.seam_report import seam_reports


def pattern_findings(job: Job) -> tuple[Finding, ...]:
    """Hands first, then seams, bands, and stretch."""
    seams = [finding for report in seam_reports(job) for finding in report.findings]
    return (*hand_findings(job), *seams, *bands_findings(job), *stretch_findings(job))
