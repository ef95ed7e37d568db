"""The pattern of a job file in each of its sizes: pieces, strips, and what is sewn to what."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import count
from pathlib import Path
from typing import Any, TypeVar

from pydantic import BaseModel

from marker.cloth.fabric import Cloth
from marker.errors import CannotBeDone
from marker.files.faults import FaultList, Unusable
from marker.files.wording import validated
from marker.jobfile.as_written import (
    EdgeNames,
    cloth_names,
    edge_names,
    opening_points,
    strip_edges,
    tables,
    twice,
)
from marker.jobfile.changing import Changing
from marker.jobfile.derived_tables import ChangeTable, DerivedTable
from marker.jobfile.edges import own_edge
from marker.jobfile.matches import MatchMaker, check_border, check_matched
from marker.jobfile.piece_table import PieceTable
from marker.jobfile.pieces import PieceMaker
from marker.jobfile.sewing import SEWN, SewingMaker, check_sides
from marker.jobfile.sewing_tables import GirthTable, MatchTable, OpeningTable, SeamTable, StripTable
from marker.jobfile.sizes import (
    Grading,
    drawn_by_size,
    in_size,
    once,
    placed_by_size,
    rules_from,
    sizes_in,
)
from marker.jobfile.strips import check_band, strip_from
from marker.pattern.bands.strip import Strip
from marker.pattern.changed import PieceChanges
from marker.pattern.derived import derived
from marker.pattern.edge import Edge
from marker.pattern.grading import with_true_seams
from marker.pattern.pattern import Pattern
from marker.pattern.piece import INNER, Line, Piece, Recipe
from marker.pattern.seams.sewing import Opening

_Table = TypeVar("_Table", bound=BaseModel)
_Thing = TypeVar("_Thing")


def patterns_from(
    raw: Mapping[str, Any],
    folder: Path,
    unit: float | None,
    cloths: Sequence[Cloth],
    faults: FaultList,
    curves_mm: float,
) -> dict[str, Pattern]:
    """The pattern in every size; a fault is noted once, with the sizes that have it.

    curves_mm : no chord of an outline strays further from its curve.
    """
    sizes, by_cloth = sizes_in(raw), {cloth.name: cloth for cloth in cloths}
    rules, names = rules_from(raw, folder, unit, faults)
    noted = {size: faults.apart() for size in sizes}
    sized = {size: in_size(raw, size, noted[size]) for size in sizes}
    patterns: dict[str, Pattern] = {}
    by_rules: dict[str, set[str]] = {}
    if not any(each.found for each in noted.values()):
        for size in sizes:
            grading = Grading(size, str(raw.get("size", "")).strip(), rules, names)
            maker = PieceMaker(folder, unit, grading, curves_mm)
            patterns[size] = _OneSize(raw, sized[size], maker, by_cloth, noted[size]).pattern()
            by_rules[size] = maker.by_rules
    faults.found += once({size: each.found for size, each in noted.items()})
    if faults.found:
        return patterns
    own = patterns[str(raw["size"]).strip()]
    true = {
        size: with_true_seams(pattern, own, by_rules[size]) if by_rules[size] else pattern
        for size, pattern in patterns.items()
    }
    for size, pattern in true.items():
        check_matched(pattern, by_cloth, sized[size], noted[size])
    faults.found += once({size: each.found for size, each in noted.items()})
    return true


def _with_new_edges(known: EdgeNames, changes: PieceChanges) -> dict[str, Collection[str]]:
    """Piece -> its edges as written, and those that changes have made or left."""
    found: dict[str, Collection[str]] = dict(known)
    for piece in (piece for change in changes.made for piece in change.after):
        found[piece.name] = [*dict.fromkeys([*found.get(piece.name, ()), *piece.edges])]
    return found


@dataclass(frozen=True)
class _OneSize:
    """The pattern of a job file in one size. raw, sized : its tables as written, and in it."""

    raw: Mapping[str, Any]
    sized: Mapping[str, Any]
    maker: PieceMaker
    cloths: Mapping[str, Cloth]
    faults: FaultList

    def pattern(self) -> Pattern:
        """The pattern; every fault of it is noted."""
        drawn = {piece.name: piece for piece in self._pieces()}
        changing = self._changed(drawn)
        if changing.changes.made and self.faults.found:  # what refers to the pieces is not clear
            return Pattern(self.maker.grading.size, tuple(changing.pieces.values()))
        pieces = (*changing.pieces.values(), *self._derived(changing))
        by_name = {piece.name: piece for piece in pieces}
        known = _with_new_edges(edge_names(self.sized, by_name), changing.changes)
        sewing = SewingMaker(known, by_name, changing.changes)
        # seams alone may name edges of strips
        seaming = SewingMaker(known | strip_edges(self.sized), by_name, changing.changes)
        matches, numbers = MatchMaker(sewing, self.cloths), count(1)
        seams = tuple(self._made("seam", SeamTable, seaming.seam))
        openings = tuple(self._made("opening", OpeningTable, sewing.opening))
        pattern = Pattern(
            self.maker.grading.size,
            pieces,
            seams=seams,
            openings=openings,
            girths=tuple(self._made("girth", GirthTable, sewing.girth)),
            strips=tuple(self._strips(pieces, openings)),
            matches=tuple(
                self._made(
                    "match",
                    MatchTable,
                    lambda table, faults: matches.match(table, next(numbers), faults),
                )
            ),
        )
        if not (self.faults.found or self._are_names_shared):
            check_sides(pattern, {key: tables(self.sized, key) for key in SEWN}, self.faults)
        return replace(pattern, seams=(*pattern.seams, *changing.changes.seams))

    @property
    def _are_names_shared(self) -> bool:
        """Whether a name is that of two pieces, so that what refers to it is not clear."""
        kinds = ("piece", "derived", "strip")
        return bool(twice([each for kind in kinds for each in tables(self.sized, kind)]))

    def _pieces(self) -> Iterator[Piece]:
        both = zip(tables(self.sized, "piece"), tables(self.raw, "piece"), strict=True)
        for (part, table), (_, written) in both:
            place = self.faults.under(part)
            valid = validated(PieceTable, table, place, self.maker.unit_mm)
            if valid is None:
                continue
            cloth = self._chosen_cloth(valid.cloth, place)
            if valid.grade and drawn_by_size(written):
                problem = "the piece is drawn in each size and graded by rules too"
                place.add("grade", problem, "Leave it out, or draw the sample size only")
                continue
            piece = self.maker.piece(valid, cloth, place, placed_by_size(written))
            if piece is not None:
                check_border(piece, self.cloths.get(cloth), place)
                yield piece

    def _changed(self, drawn: Mapping[str, Piece]) -> Changing:
        """The pieces as the changes leave them."""
        derived, strips = (
            {str(table.get("name")).strip() for _, table in tables(self.sized, kind)}
            for kind in ("derived", "strip")
        )
        changing = Changing(drawn, derived, strips)
        sound = not self.faults.found
        for part, table in tables(self.sized, "change"):
            place = self.faults.under(part)
            valid = validated(ChangeTable, table, place, self.maker.unit_mm)
            if valid is not None:
                # a fault of the piece, or of a change above, is noted already
                changing.add(part, valid, place if sound else place.apart())
            sound = sound and not self.faults.found
        for change in changing.made:  # their curves are fitted as those of the whole piece are
            if change.before.name in self.maker.by_rules:
                self.maker.by_rules |= {part.name for part in change.after}
        return changing

    def _derived(self, changing: Changing) -> Iterator[Piece]:
        drawn = changing.pieces
        every = tables(self.sized, "derived")
        written, others = (
            {str(table.get("name")).strip() for _, table in listed}
            for listed in (tables(self.sized, "piece"), every)
        )
        for part, table in every:
            place = self.faults.under(part)
            valid = validated(DerivedTable, table, place, self.maker.unit_mm)
            if valid is None:
                continue
            cloth = self._chosen_cloth(valid.cloth, place)
            # a fault of the piece it follows from is noted already
            known = valid.of in drawn or valid.of not in written or valid.of in changing.drawn
            noted = place if known else place.apart()
            piece = piece_derived(valid, cloth, drawn, others, noted)
            if piece is not None:
                yield piece

    def _strips(self, pieces: Sequence[Piece], openings: Sequence[Opening]) -> Iterator[Strip]:
        points, sound = opening_points(self.sized), not self.faults.found
        known = [name.strip() for name in cloth_names(self.raw)]
        for part, table in tables(self.sized, "strip"):
            place = self.faults.under(part)
            valid = validated(StripTable, table, place, self.maker.unit_mm)
            if valid is None:
                continue
            strip = strip_from(valid, self._chosen_cloth(valid.cloth, place), points, known, place)
            if sound and not self.faults.found:
                check_band(valid, strip, pieces, openings, place)
            yield strip

    def _chosen_cloth(self, asked: str | None, faults: FaultList) -> str:
        """The cloth asked for, or else the main cloth; '' once the file has no cloth at all."""
        known = [name.strip() for name in cloth_names(self.raw)]
        if asked is None:
            return known[0] if known else ""
        if asked not in known and known:
            with faults.gathering("cloth"):
                raise Unusable.unknown("cloth", asked, known)
        return asked

    def _made(
        self, key: str, model: type[_Table], make: Callable[[_Table, FaultList], _Thing | None]
    ) -> Iterator[_Thing]:
        """What `make` makes of each sound table under this key.

        Where two pieces share a name, what refers to pieces is not clear and its faults are moot.
        """
        moot = self._are_names_shared
        for part, table in tables(self.sized, key):
            place = self.faults.under(part)
            valid = validated(model, table, place, self.maker.unit_mm)
            made = None if valid is None else make(valid, place.apart() if moot else place)
            if made is not None:
                yield made


def piece_derived(
    table: DerivedTable,
    cloth: str,
    pieces: Mapping[str, Piece],
    others: Collection[str],
    faults: FaultList,
) -> Piece | None:
    """The piece, None where it can't be; every fault is noted.

    pieces : by name, all those that are drawn. others : names of all that are derived.
    """
    before = len(faults.found)
    with faults.gathering("of"):
        if table.of in others and table.of not in pieces:
            raise Unusable(
                f"'{table.of}' is derived itself", "Name the piece that both of them follow from"
            )
        if table.of not in pieces:
            raise Unusable.unknown("piece", table.of, pieces)
        base = pieces[table.of]
        _check(table, base, faults)
        if len(faults.found) > before:
            return None
        try:
            return derived(base, _recipe(table, cloth, base, faults))
        except CannotBeDone as error:
            raise Unusable(str(error).rstrip("."), "Check trim, trims and near") from error
    return None


def _check(table: DerivedTable, base: Piece, faults: FaultList) -> None:
    known = {*base.edges, *([INNER] if table.near else [])}
    for key in ("allowances", "hems", "corners", "trims"):
        for name in getattr(table, key):
            with faults.gathering(f"{key}.{name}"):
                if name not in known or (key == "trims" and name == INNER):
                    raise Unusable.unknown("edge", name, sorted(known))
    for number, name in enumerate(table.near.edges if table.near else (), 1):
        with faults.gathering(f"near.edges[{number}]"):
            if name not in base.edges:
                raise Unusable.unknown("edge", name, base.edges)
    if table.near and base.cutouts:
        faults.add("near", f"'{base.name}' has cut-outs", "Draw the part as a piece of its own")
    if table.line is Line.CUT and (table.allowance or table.allowances or table.hems):
        faults.add(
            "line",
            "what follows the cut line has no allowances of its own",
            'Leave them out, or say line = "stitching line"',
        )
    cut = base.cut if table.cut is None else table.cut
    if (base.pair if table.pair is None else table.pair) and cut % 2:
        faults.add("cut", f"a pair can't be cut {cut} times", "Give an even number")


def _recipe(table: DerivedTable, cloth: str, base: Piece, faults: FaultList) -> Recipe:
    return Recipe(
        name=table.name,
        cloth=cloth,
        of=base.name,
        from_cut_line=table.line is Line.CUT,
        trim_mm=table.trim,
        trims_mm=dict(table.trims),
        near=tuple(table.near.edges) if table.near else (),
        within_mm=table.near.within if table.near else 0.0,
        cut=table.cut,
        pair=table.pair,
        turns=None if table.turns is None else tuple(dict.fromkeys(table.turns)),
        allowance_mm=table.allowance,
        edges={name: own_edge(name, Edge(0, 0), table, faults) for name in (*base.edges, INNER)},
    )
