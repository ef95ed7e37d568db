"""What is changed in a job file on the page, each change by its name: a text made of a text."""

from __future__ import annotations

import tomllib
from collections.abc import Callable, Sequence
from typing import Any

from marker.errors import CannotBeDone
from marker.jobfile.adding import (
    DERIVED,
    Rectangle,
    copies_told,
    with_cloth,
    with_piece,
    with_value_of,
    without_cloth,
    without_opening,
    without_piece,
    without_seam,
)
from marker.jobfile.correcting import edge_named, put_on_fold, with_corner_moved
from marker.jobfile.editing import JobText, Patch
from marker.jobfile.reading import read_job
from marker.pattern.piece import Line
from marker.pattern.seams.opening_order import in_order
from marker.web.process import Values

TEXT = "text"
"""The change of the whole text, written by hand."""

Change = Callable[[JobText, Values], JobText]


def changed(job: JobText, what: str, body: Values) -> JobText:
    """The text after a change by its name, checked and not written; raises FaultyInput for one
    that can't be made at all."""
    if what not in _BY_NAME:
        raise CannotBeDone(f"the page knows no '{what}' of a pattern.")
    return _BY_NAME[what](job, body)


def piece_changes(job: JobText) -> list[dict[str, str]]:
    """Each [[change]] of the file in its order: its `piece`, and what is `said` of it."""
    return [
        {"piece": str(table.get("piece", "")), "said": _change_words(table)}
        for table in _tables(job, "change")
    ]


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


def _taken_out(key: str, without: Callable[[JobText, str], JobText]) -> Change:
    """Something that is taken out of the job where nothing needs it."""
    return lambda job, body: without(job, str(body[key]))


def _rectangle(job: JobText, body: Values) -> JobText:
    """A rectangle added to the pieces."""
    return with_piece(job, _as_asked(body) | rectangle_told(body).table())


def rectangle_told(body: Values) -> Rectangle:
    """A rectangle as the page sends it."""
    return Rectangle(
        str(body["length"]),
        str(body["width"]),
        str(body.get("allowance") or ""),
        across=bool(body.get("across")),
        on_fold=bool(body.get("on_fold")),
        finished=bool(body.get("finished")),
    )


def _follower(job: JobText, body: Values) -> JobText:
    """A piece added that follows from another: a lining with an `allowance` of its own, or an
    interfacing, which is smaller by a `trim`."""
    said = {**_as_asked(body), "of": str(body["of"])}
    if body["as"] == "interfacing":
        said |= {"line": Line.CUT.value, "trim": str(body["trim"]).strip() or "0 mm"}
    elif str(body["allowance"]).strip():
        said["allowance"] = str(body["allowance"]).strip()
    return with_piece(job, said, DERIVED)


def _pieces(job: JobText, body: Values) -> JobText:
    """Pieces of drawings that lie beside the job, each as its table."""
    for table in body["tables"]:
        job = with_piece(job, table)
    return job


def _as_asked(body: Values) -> dict[str, Any]:
    """What is said of every piece that is added: its name, its cloth, and how many are cut."""
    said: dict[str, Any] = {"name": str(body["name"]).strip(), "cloth": str(body["cloth"])}
    count = copies_told(body.get("cut", 1))
    return said if count == 1 else {**said, "cut": count}


def _of_piece(job: JobText, body: Values) -> JobText:
    """The cloth of a piece, how many are cut, whether half of them are mirrored, or a measure of a
    rectangle."""
    piece, key, value = str(body["piece"]), str(body["key"]), body["value"]
    if key not in ("cloth", "cut", "pair", "width", "height"):
        raise CannotBeDone(f"the page sets no '{key}' of a piece.")
    told = copies_told(value) if key == "cut" else bool(value) if key == "pair" else str(value)
    return with_value_of(job, piece, key, told)


def _new_cloth(job: JobText, body: Values) -> JobText:
    return with_cloth(job, str(body["name"]), str(body["width"]), str(body["nap"]))


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
    fold. Its band is joined at the back, and marked from the front."""
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
    "drop": _taken_out("piece", without_piece),
    "rectangle": _rectangle,
    "follower": _follower,
    "pieces": _pieces,
    "piece": _of_piece,
    "no-seam": _taken_out("seam", without_seam),
    "no-opening": _taken_out("opening", without_opening),
    "notch": _notch,
    "grain": _grain,
    "seam": _seam,
    "opening": _opening,
    "cloth": _cloth,
    "new-cloth": _new_cloth,
    "no-cloth": _taken_out("cloth", without_cloth),
    "price": _price,
    "flaw": _flaw,
    "no-flaw": _no_flaw,
    "order": _order,
    "remedy": _remedy,
    "change": _changed,
    "no-change": _not_changed,
    TEXT: _whole,
}

CHANGES = tuple(_BY_NAME)
"""The names of all changes."""
