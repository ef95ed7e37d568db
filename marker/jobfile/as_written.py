"""A job file's tables and references as they stand in it, before they are checked.

They are read in one spelling: 'center front' and 'centre front' are the same place.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping
from typing import Any

from marker.errors import Part
from marker.files.faults import FaultList, Unusable
from marker.files.values import unit_mm
from marker.jobfile.job_table import GRADED
from marker.pattern.bands.strip_plan import LONG_EDGE
from marker.pattern.edge import EdgeRef
from marker.pattern.piece import INNER, Piece
from marker.units import NotALength
from marker.words import respelled, spelled_words

# keys whose texts name no part of the job: they are kept to the letter
_TO_THE_LETTER = ("path", "drawing", "rules", "currency")


def in_its_own_spelling(raw: Mapping[str, Any], faults: FaultList) -> dict[str, Any]:
    """The tables with each word spelled everywhere as the file first spells it.

    So names and references to them agree, and people read them as they write them. Two keys of one
    table that are then the same are noted.
    """
    spelling: dict[str, str] = {}
    for text in _texts(raw):
        for word, ours in spelled_words(text):
            spelling.setdefault(ours, word)
    return {
        key: value if key in _TO_THE_LETTER else _respelled(value, spelling, key, faults)
        for key, value in raw.items()
    }


def _texts(value: Any) -> Iterator[str]:
    """Every key and text inside, in the order of the file."""
    if isinstance(value, str):
        yield value
    elif isinstance(value, list):
        for each in value:
            yield from _texts(each)
    elif isinstance(value, Mapping):
        for key, each in value.items():
            yield key
            if key not in _TO_THE_LETTER:
                yield from _texts(each)


def _respelled(value: Any, spelling: Mapping[str, str], place: str, faults: FaultList) -> Any:
    if isinstance(value, str):
        return respelled(value, spelling)
    if isinstance(value, list):
        return [
            _respelled(each, spelling, f"{place}[{number}]", faults)
            for number, each in enumerate(value, 1)
        ]
    if not isinstance(value, Mapping):
        return value
    table: dict[str, Any] = {}
    for key, each in value.items():
        name = respelled(key, spelling)
        if name in table:
            problem = f"it is there twice, spelled '{name}' and '{key}'"
            faults.add(f"{place}.{key}", problem, "Give it once")
        inner = f"{place}.{key}"
        table[name] = each if key in _TO_THE_LETTER else _respelled(each, spelling, inner, faults)
    return table


MOST_ENTRIES = 2000
MOST_TABLES_IN_SIZES = 4000
MOST_CLOTHS = 100
_MOST_LISTED = {
    **dict.fromkeys(GRADED, 1000),
    "points": 25_000,  # an outline has a limit of its own, with its own words
    "sides": 100,
    "sizes": 100,
    "turns": 360,
}
REVERSED = " reversed"
# piece -> names of its edges as written, so that a faulty piece does not condemn what refers to it
EdgeNames = Mapping[str, Collection[str]]


def bare_unit(raw: Mapping[str, Any]) -> float | None:
    """Millimetres of a bare number; None if the file names no unit.

    Faulty `units` have their own fault; bare numbers then count as mm, so as not to repeat it.
    """
    units = raw.get("units")
    try:
        return None if units is None else unit_mm(str(units).strip())
    except NotALength:
        return 1.0


def tables(raw: Mapping[str, Any], key: str) -> list[tuple[str, dict[str, Any]]]:
    """(place, table) of each [[piece]] or [[strip]] that is a table."""
    listed = raw.get(key, [])
    found: list[tuple[str, dict[str, Any]]] = []
    for number, table in enumerate(listed if isinstance(listed, list) else [], 1):
        if isinstance(table, dict):
            name = table.get("name")
            known = f" ({name})" if isinstance(name, str) and name else ""
            found.append((f"{key} {number}{known[:70]}", table))
    return found


def places_of(about: Iterable[tuple[Part, str]], raw: Mapping[str, Any]) -> list[str]:
    """Where the tables stand that say these parts of the job; of those that are there."""
    found = []
    for part, name in about:
        if part is Part.CLOTH:
            found += [f"cloth.{each}" for each in cloth_names(raw) if each.strip() == name]
        kinds = ("piece", "derived", "strip") if part is Part.PIECE else (part.value,)
        named = [each for kind in kinds for each in tables(raw, kind)]
        found += [place for place, table in named if str(table.get("name")).strip() == name]
    return found


def check_counts(raw: Mapping[str, Any], faults: FaultList) -> None:
    """Note what there is too much of, before anything is built from it."""
    for key, value in raw.items():
        _count_inside(value, key, key, faults)
    listed = sum(len(raw[key]) for key in GRADED if isinstance(raw.get(key), list))
    sizes = raw.get("sizes")
    in_sizes = listed * max(1, len(sizes) if isinstance(sizes, list) else 1)
    if not faults.found and in_sizes > MOST_TABLES_IN_SIZES:
        faults.add(
            "sizes",
            f"pieces, strips and seams in all their sizes are {in_sizes}, more than "
            f"{MOST_TABLES_IN_SIZES}",
            "Split the job by sizes or by pieces",
        )


def _count_inside(value: Any, key: str, place: str, faults: FaultList) -> None:
    if not isinstance(value, dict | list):
        return
    most = _MOST_LISTED.get(key, MOST_ENTRIES) if isinstance(value, list) else MOST_ENTRIES
    most = MOST_CLOTHS if place == "cloth" else most
    if len(value) > most:
        faults.add(place, f"there are {len(value)} entries, more than {most}", "Split the job")
    elif isinstance(value, dict):
        for inner, each in value.items():
            _count_inside(each, inner, f"{place}.{inner}", faults)
    else:
        for number, each in enumerate(value, 1):
            _count_inside(each, key, f"{place}[{number}]", faults)


def twice(tables: Iterable[tuple[str, Mapping[str, Any]]]) -> dict[str, list[str]]:
    """Name -> the places of the tables that share it, of names that more than one has."""
    places: dict[str, list[str]] = {}
    for place, table in tables:
        if isinstance(table.get("name"), str):
            places.setdefault(table["name"].strip(), []).append(place)
    return {name: shared for name, shared in places.items() if len(shared) > 1}


def cloth_names(raw: Mapping[str, Any]) -> list[str]:
    """Names of the cloths as written, the main cloth first."""
    cloths = raw.get("cloth")
    return list(cloths) if isinstance(cloths, dict) else []


def edge_names(raw: Mapping[str, Any], pieces: Mapping[str, Piece]) -> dict[str, list[str]]:
    """Piece -> its edges as written, so that a faulty piece does not condemn what refers to it.

    A derived piece has those written in it, or else those of its piece.

    pieces : by name, those without fault.
    """
    named = _names_inside(raw, "piece", "edges")
    for _, table in tables(raw, "derived"):
        name, of = table.get("name"), table.get("of")
        if isinstance(name, str):
            made = pieces.get(name.strip())
            known = list(made.edges) if made else [*named.get(str(of).strip(), ()), INNER]
            named.setdefault(name.strip(), []).extend(known)
    return named


def opening_points(raw: Mapping[str, Any]) -> dict[str, list[str]]:
    """Opening -> its points as written, so that a faulty opening does not condemn its bands."""
    return _names_inside(raw, "opening", "points")


def strip_edges(raw: Mapping[str, Any]) -> dict[str, list[str]]:
    """The long edges of the strips whose length is given: they may be sewn, too."""
    strips = [table for _, table in tables(raw, "strip") if "length" in table]
    names = [table["name"].strip() for table in strips if isinstance(table.get("name"), str)]
    return {name: [LONG_EDGE] for name in names}


def _names_inside(raw: Mapping[str, Any], kind: str, key: str) -> dict[str, list[str]]:
    """Name of each table of a kind -> the names that it gives under a key."""
    named: dict[str, list[str]] = {}
    for _, table in tables(raw, kind):
        name, inside = table.get("name"), table.get(key)
        if isinstance(name, str):
            known = [word.strip() for word in inside] if isinstance(inside, dict) else []
            named.setdefault(name.strip(), []).extend(known)
    return named


def edge_ref(reference: str, edges: EdgeNames) -> EdgeRef:
    """The edge referred to; raises Unusable for one that is not there."""
    piece, dot, edge = (part.strip() for part in reference.partition("."))
    if not (piece and dot and edge):
        raise Unusable(f"'{reference}' names no edge", 'Write piece and edge, as "front.neck"')
    if piece not in edges:
        raise Unusable.unknown("piece", piece, edges)
    if edge in edges[piece]:
        return EdgeRef(piece, edge)
    plain = edge.removesuffix(REVERSED).rstrip()
    if plain not in edges[piece]:
        raise Unusable.unknown(f"edge of '{piece}'", plain, edges[piece])
    return EdgeRef(piece, plain, reversed=True)
