"""Drafting garments in tests, and reading them back as jobs."""

from __future__ import annotations

from collections.abc import Mapping

from marker.blocks.body import Body
from marker.blocks.catalogue import GARMENTS
from marker.blocks.garment import Block
from marker.job import Job
from marker.jobfile.drafted import job_of

BUSTS_MM = (600.0, 1600.0)


def block(garment: str, body: Body, **options: float | str) -> Block:
    """The garment drafted for one body."""
    return GARMENTS[garment].drafted({"own": body}, "own", options).sizes["own"]


def job(garment: str, bodies: Mapping[str, Body], **options: float | str) -> Job:
    """The garment as it is read back from the files it is written as."""
    return job_of(GARMENTS[garment].drafted(bodies, next(iter(bodies)), options), garment)
