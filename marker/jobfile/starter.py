"""The commented job that `marker new` hands out."""

from __future__ import annotations

from importlib.resources import files

from marker.errors import Fault, FaultyInput
from marker.files.toml_edits import quoted
from marker.files.values import name_fault

_OWN_NAME = 'name = "choir tabard"'


def starter_job(name: str) -> str:
    """Text of a job file that runs as it is, called `name`; raises FaultyInput for a bad name."""
    checked_name(name)
    text = files("marker.jobfile").joinpath("starter.toml").read_text(encoding="utf-8")
    return text.replace(_OWN_NAME, f"name = {quoted(name)}", 1)


def checked_name(name: str) -> None:
    """Raise FaultyInput for what can't be the name of a job."""
    fault = name_fault(name)
    if fault:
        raise FaultyInput([Fault("the name of the new job", *fault)])
