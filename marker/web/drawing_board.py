"""A job file changed on the page, bit by bit: each change keeps its comments, and is undone."""

from __future__ import annotations

import json
import tomllib
from collections.abc import Callable, Iterable, Sequence
from dataclasses import astuple
from pathlib import Path
from typing import Any

from pydantic import BaseModel, ConfigDict

from marker.errors import CannotBeDone, FaultyInput
from marker.files.digest import digest
from marker.files.own_files import write_own
from marker.files.reading import read_text
from marker.jobfile.correcting import (
    edge_named,
    fixed_corners,
    put_on_fold,
    with_corner_moved,
    without_piece,
)
from marker.jobfile.editing import JobText, Patch, load
from marker.jobfile.reading import read_job
from marker.outputs.layouts import BY
from marker.pattern.seams.opening_order import in_order
from marker.web.process import Values

MOST_CHANGES = 200
"""Changes that can be undone another day."""

TEXT = "text"
"""The change of the whole text, written by hand."""

Change = Callable[[JobText, Values], JobText]


class DrawingBoard:
    """The text of a job file with all that was done to it here.

    Every change is checked and written at once; one that would leave a faulty job is refused.
    kept : the file that holds the changes made so far, so that they can be undone another day.
    """

    def __init__(self, path: Path, kept: Path | None = None) -> None:
        self._now, self._kept = _loaded(path), kept
        self._done: list[Patch] = []
        self._undone: list[Patch] = []
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
        """Make a change by its name; raises FaultyInput for one that is refused."""
        if what == "undo":
            self._step(self._done, self._undone)
        elif what == "redo":
            self._step(self._undone, self._done)
        else:
            before, changed = self._now.text, self.tried(what, body)
            if what == TEXT and changed.faults:
                raise FaultyInput(changed.faults)
            self._write(changed)
            self._done.append(Patch.between(before, self._now.text))
            self._undone.clear()
        self._keep()

    def tried(self, what: str, body: Values) -> JobText:
        """A change by its name, checked and not written; raises FaultyInput for one that can't be
        made at all."""
        if what not in _BY_NAME:
            raise CannotBeDone(f"the page knows no '{what}' of a pattern.")
        return _BY_NAME[what](self._now, body)

    def changes(self) -> list[dict[str, str]]:
        """Each [[change]] of the file in its order: its `piece`, and what is `said` of it."""
        return [
            {"piece": str(table.get("piece", "")), "said": _change_words(table)}
            for table in _tables(self._now, "change")
        ]

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


def _piece(name: object, *rest: str | int) -> tuple[str | int, ...]:
    return ("piece", str(name), *rest)


def _of_edge(key: str, value: str) -> Change:
    """A value that a piece gives to one of its edges by name; an empty one is taken away."""

    def change(job: JobText, body: Values) -> JobText:
        place = _piece(body["piece"], key, str(body["edge"]))
        text = str(body[value]).strip()
        return job.set(place, text) if text else job.remove(place)

    return change


def _named_edge(job: JobText, body: Values) -> JobText:
    """A name for the stretch between two corners."""
    first, last = map(int, body["corners"])
    return edge_named(job, str(body["piece"]), (first, last), str(body["name"]).strip())


def _fold(job: JobText, body: Values) -> JobText:
    """The fold between two corners, in whichever order they were chosen."""
    first, last = map(int, body["corners"])
    return put_on_fold(job, str(body["piece"]), (first, last))


def _notch(job: JobText, body: Values) -> JobText:
    name = str(body["piece"])
    place = _piece(name, "notches", len(_piece_table(job, name).get("notches", [])))
    return job.set(place, {"edge": str(body["edge"]), "at": str(body["at"]).strip()})


def _corner(job: JobText, body: Values) -> JobText:
    """A corner moved by so many mm to the right and up."""
    right, up = map(float, body["by_mm"])
    return with_corner_moved(job, str(body["piece"]), int(body["corner"]), (right, up))


def _dropped(job: JobText, body: Values) -> JobText:
    return without_piece(job, str(body["piece"]))


def _grain(job: JobText, body: Values) -> JobText:
    degrees = float(body["degrees"]) % 360
    return job.set(
        _piece(body["piece"], "grain"), int(degrees) if degrees.is_integer() else degrees
    )


def _seam(job: JobText, body: Values) -> JobText:
    seam = {"name": str(body["name"]).strip(), "sides": [str(side) for side in body["sides"]]}
    return job.set(("seam", len(_tables(job, "seam"))), seam)


def _opening(job: JobText, body: Values) -> JobText:
    """An opening, its edges as they follow one another, and the band that finishes it where one is
    given."""
    name, place = str(body["name"]).strip(), ("opening", len(_tables(job, "opening")))
    edges = [str(edge) for edge in body["edges"]]
    opened = job.set(place, {"name": name, "edges": edges})
    if not opened.faults:
        pattern = read_job(opened.path, opened.text).pattern
        ordered = in_order(pattern, pattern.openings[-1])
        opened = opened.set((*place, "edges"), list(map(str, ordered)))
        opened = _with_centres(opened, place, edges)
    if not body.get("band"):
        return opened
    band = {
        "name": f"{name} binding",
        "finished_width": str(body["band"]).strip(),
        "fold": "double",
        "finishes": name,
        "ratio": float(body["ratio"]),
    }
    return opened.set(("strip", len(_tables(job, "strip"))), band)


def _with_centres(job: JobText, place: tuple[str | int, ...], edges: list[str]) -> JobText:
    """The opening with its centre front and back by name, where an edge of such a piece ends on the
    fold: its band is joined at the back, and marked from the front."""
    for centre in ("front", "back"):
        for edge in (each for each in edges if centre in each.partition(".")[0].lower()):
            named = job.set((*place, "points", f"centre {centre}"), f"{edge} at fold")
            job = job if named.faults else named
    return job


def _cloth(job: JobText, body: Values) -> JobText:
    """A value of a cloth, as text, by its key, as in 'repeat.along'; an empty one is taken away,
    and so is a table that it leaves empty."""
    cloth, *keys = str(body["cloth"]), *str(body["key"]).split(".")
    there: Any = tomllib.loads(job.text)["cloth"][cloth]
    for key in keys:
        there = there.get(key) if isinstance(there, dict) else None
    text = str(body["value"]).strip()
    if text and isinstance(there, dict):  # what it says besides stays
        keys.append("every")
    if text:
        return job.set(("cloth", cloth, *keys), text)
    return _without(job, ("cloth", cloth, *keys))


def _without(job: JobText, place: tuple[str | int, ...]) -> JobText:
    """The text without a value, and without the table or list that this leaves empty."""
    job = job.remove(place)
    there: Any = tomllib.loads(job.text)
    for key in place[:-1]:
        there = there.get(key) if isinstance(there, dict) else None
    return job.remove(place[:-1]) if there in ({}, []) else job


def _price(job: JobText, body: Values) -> JobText:
    """What a cloth costs: an amount for a length, in a currency; no amount takes it away."""
    place, text = ("cloth", str(body["cloth"]), "price"), str(body["amount"]).strip()
    if not text:
        return job.remove(place)
    try:
        amount = float(text.replace(",", "."))
    except ValueError:
        raise CannotBeDone(f"'{text}' is no amount of money. Write it like 14.90.") from None
    per, currency = str(body["per"]).strip(), str(body["currency"]).strip()
    return job.set(place, {"amount": amount, "per": per, "currency": currency})


def _flaw(job: JobText, body: Values) -> JobText:
    """A place of the cloth that is not to be used: a box drawn on it, mm."""
    cloth = str(body["cloth"])
    table = tomllib.loads(job.text)["cloth"][cloth]
    along, across = ([f"{mm:.0f} mm" for mm in map(float, body[axis])] for axis in _AXES)
    flaw = {"name": str(body["name"]).strip(), "along": along, "across": across}
    return job.set(("cloth", cloth, "flaw", len(table.get("flaw", []))), flaw)


def _no_flaw(job: JobText, body: Values) -> JobText:
    """A flaw taken away, by its number from 0."""
    return _without(job, ("cloth", str(body["cloth"]), "flaw", int(body["number"])))


def _order(job: JobText, body: Values) -> JobText:
    """How many garments of a size are wanted; of one at least."""
    size, text = str(body["size"]), str(body["count"]).strip() or "0"
    if not (text.isascii() and text.isdigit()):
        raise CannotBeDone(f"'{text}' is no number of garments. Give a whole number, 0 for none.")
    if int(text):
        return job.set(("order", size), int(text))
    if set(tomllib.loads(job.text).get("order", {})) <= {size}:
        raise CannotBeDone("then no garment is wanted. First write how many of another size.")
    return job.remove(("order", size))


def _remedy(job: JobText, body: Values) -> JobText:
    """Values that a search for remedies proposed, each at its place."""
    for edit in body["edits"]:
        job = job.set(tuple(edit["place"]), edit["value"])
    return job


def _whole(job: JobText, body: Values) -> JobText:
    """The whole text, written by hand."""
    return job.patched(Patch.between(job.text, str(body["text"])))


def _changed(job: JobText, body: Values) -> JobText:
    """A piece changed at a line, after the changes that it has already. body : `piece`; `line`, one
    place or two; `way`; `by`, a length, or of a cut the part that is kept or the two names. Of a
    cut, too: `edge`, `allowance` and `hem`, each maybe empty, and whether it is `sewn`."""
    way = str(body["way"])
    if way not in _IN_WORDS:
        raise CannotBeDone(f"a piece is changed in no way called '{way}'.")
    line = [str(place).strip() for place in body["line"]]
    value = [str(name).strip() for name in body["by"]] if way == "split" else str(body["by"])
    said: dict[str, Any] = {"piece": str(body["piece"]), "line": line, way: value}
    if way in ("keep", "split"):
        optional = {key: str(body.get(key) or "").strip() for key in ("edge", "allowance", "hem")}
        said |= {key: text for key, text in optional.items() if text}
    if way == "split" and not body.get("sewn", True):
        said["sewn"] = False
    return job.set(("change", len(_tables(job, "change"))), said)


def _not_changed(job: JobText, body: Values) -> JobText:
    """A change taken away, by its number from 0."""
    return _without(job, ("change", int(body["number"])))


_IN_WORDS = {
    "lengthen": "{} longer",
    "shorten": "{} shorter",
    "widen": "{} wider",
    "narrow": "{} narrower",
    "keep": "what is {} is kept",
    "split": "split into {}",
}
"""What is done to a piece at a line, by its key in a [[change]]."""


def _change_words(table: dict[str, Any]) -> str:
    line = table.get("line")
    at = " to ".join(map(str, line if isinstance(line, list) else []))
    done = "; ".join(
        said.format(" and ".join(map(str, value)) if isinstance(value, list) else value)
        for key, said in _IN_WORDS.items()
        if (value := table.get(key)) is not None
    )
    return f"{done}, at {at}"


def _piece_table(job: JobText, name: str) -> dict[str, Any]:
    for table in _tables(job, "piece"):
        if table.get("name") == name:
            return table
    raise CannotBeDone(f"the job file draws no piece '{name}'.")


def _tables(job: JobText, key: str) -> Sequence[dict[str, Any]]:
    tables: Sequence[dict[str, Any]] = tomllib.loads(job.text).get(key, [])
    return tables


_AXES = ("along", "across")

_BY_NAME: dict[str, Change] = {
    "allowance": _of_edge("allowances", "length"),
    "hem": _of_edge("hems", "hem"),
    "edge": _named_edge,
    "fold": _fold,
    "corner": _corner,
    "drop": _dropped,
    "notch": _notch,
    "grain": _grain,
    "seam": _seam,
    "opening": _opening,
    "cloth": _cloth,
    "price": _price,
    "flaw": _flaw,
    "no-flaw": _no_flaw,
    "order": _order,
    "remedy": _remedy,
    "change": _changed,
    "no-change": _not_changed,
    TEXT: _whole,
}

CHANGES = (*_BY_NAME, "undo", "redo")
"""The names of all changes."""
