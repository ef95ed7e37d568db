"""A job file changed on the page, bit by bit: each change keeps its comments, and is undone."""

from __future__ import annotations

import json
from collections.abc import Iterable
from dataclasses import astuple
from pathlib import Path
from typing import Any

from pydantic import BaseModel, ConfigDict

from marker.errors import CannotBeDone, FaultyInput
from marker.files.digest import digest
from marker.files.own_files import write_own
from marker.files.reading import read_text
from marker.jobfile.adding import rectangles
from marker.jobfile.correcting import fixed_corners
from marker.jobfile.editing import JobText, Patch, load
from marker.outputs.layouts import BY
from marker.web.job_changes import CHANGES, TEXT, changed, piece_changes
from marker.web.nudging import NUDGED, Nudges
from marker.web.process import Values

MOST_CHANGES = 200
"""Changes that can be undone another day."""

ACTS = (*CHANGES, "undo", "redo")
"""All that can be done on the board, by name."""


class DrawingBoard:
    """The text of a job file with all that was done to it here.

    Every change is checked and written at once; one that would leave a faulty job is refused.
    kept : the file that holds the changes made so far, so that they can be undone another day.
    """

    def __init__(self, path: Path, kept: Path | None = None) -> None:
        self._now, self._kept = _loaded(path), kept
        self._done: list[Patch] = []
        self._undone: list[Patch] = []
        self._nudges = Nudges()
        self._bring_back()

    @property
    def text(self) -> str:
        """What the file says."""
        return self._now.text

    @property
    def can_undo(self) -> bool:
        return bool(self._done)

    @property
    def can_redo(self) -> bool:
        return bool(self._undone)

    def change(self, what: str, body: Values) -> None:
        """Make a change by its name; raises FaultyInput for one that is refused.

        body : of the change; `nudged` where it comes of an arrow key.
        """
        if what == "undo":
            self._step(self._done, self._undone)
        elif what == "redo":
            self._step(self._undone, self._done)
        else:
            self._make(what, body)
        self._keep()

    def _make(self, what: str, body: Values) -> None:
        """A change, in one step with the presses of an arrow key that it goes on from."""
        thing = f"{body['piece']} {body['corner']}" if body.get(NUDGED) else None
        before, after = self._now.text, self.tried(what, body)
        goes_on = self._nudges.go_on(thing, before)
        if what == TEXT and after.faults:
            raise FaultyInput(after.faults)
        self._write(after)
        if goes_on:
            before = self._done.pop().undone.applied(before)
        self._done.append(Patch.between(before, self._now.text))
        self._undone.clear()
        self._nudges.made(thing, self._now.text)

    def tried(self, what: str, body: Values) -> JobText:
        """A change by its name, checked and not written; raises FaultyInput for one that can't be
        made at all."""
        return changed(self._now, what, body)

    def changes(self) -> list[dict[str, str]]:
        """Each [[change]] of the file in its order: its `piece`, and what is `said` of it."""
        return piece_changes(self._now)

    def rectangles(self) -> dict[str, dict[str, str]]:
        """Name of each rectangle -> its `width` and `height` as they are written."""
        return rectangles(self._now)

    def fixed_corners(self, pieces: Iterable[str]) -> dict[str, dict[str, Any]]:
        """Of the pieces whose corners can't be moved, `why`, and whether they `have_numbers`."""
        found = {name: fixed_corners(self._now, name) for name in pieces}
        return {name: vars(fixed) for name, fixed in found.items() if fixed is not None}

    def _step(self, from_: list[Patch], to: list[Patch]) -> None:
        if not from_:
            raise CannotBeDone("there is nothing more to undo or redo.")
        patch = from_[-1].undone
        self._write(self._now.patched(patch))
        from_.pop()
        to.append(patch)

    def _write(self, changed: JobText) -> None:
        self._now = changed.write()

    def keep_in(self, kept: Path | None) -> None:
        """Keep the changes in another file from now on."""
        if kept not in (None, self._kept):
            self._kept = kept
            self._keep()

    def _keep(self) -> None:
        if self._kept is None:
            return
        done, undone = self._done[-MOST_CHANGES:], self._undone[-MOST_CHANGES:]
        lists = {"done": list(map(astuple, done)), "undone": list(map(astuple, undone))}
        told = json.dumps({"text": digest(self._now.text), **lists}, ensure_ascii=False)
        write_own(self._kept, told + "\n", BY)

    def _bring_back(self) -> None:
        """The changes of another day, where the file is still as they left it."""
        if self._kept is None:
            return
        try:
            found = _Kept.model_validate_json(self._kept.read_text(encoding="utf-8"))
        except (OSError, ValueError):
            return
        if found.text == digest(self._now.text):
            self._done = [Patch(*each) for each in found.done]
            self._undone = [Patch(*each) for each in found.undone]


def _loaded(path: Path) -> JobText:
    """The text of a job file, also where it is no TOML: it is to be corrected here."""
    try:
        return load(path)
    except FaultyInput as error:
        text = read_text(path)
        return JobText(path, text, text, error.faults)


class _Kept(BaseModel):
    model_config = ConfigDict(strict=True, frozen=True)

    text: str
    done: list[tuple[int, str, str]]
    undone: list[tuple[int, str, str]]
