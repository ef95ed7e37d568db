"""Pattern drawings of several formats as pieces of one pattern, with a report of what was read."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
import shapely

from marker.errors import Fault, FaultyInput
from marker.exchange.assembling import pieces_in
from marker.exchange.cloth_facts import ClothFacts
from marker.exchange.contours import JOIN_MM
from marker.exchange.dxf.dxf_file import DxfFile
from marker.exchange.dxf.rule_file import SUFFIX as RULES
from marker.exchange.dxf.rule_file import Move, RuleFile, read_rules
from marker.exchange.flat_piece import FlatPiece
from marker.exchange.laid_flat import unique_names
from marker.exchange.pdf.pdf_file import EVERYTHING, PdfFile, Pick
from marker.exchange.photo.import_photos import PhotosRead, Taken, read_photos
from marker.exchange.photo.picture import SUFFIXES
from marker.exchange.scale import PIXEL, UNITS, Scale, ScaleUnknown, scale_of
from marker.exchange.sizes import as_drawn, by_rules
from marker.exchange.strokes import ScaleSquare
from marker.exchange.svg.svg_file import SvgFile
from marker.files.budget import Budget, Most
from marker.files.faults import FaultList, Unusable
from marker.files.values import LONGEST_NAME, name_fault
from marker.words import ONE_SIZE

NO_SIZE, NO_CLOTH = ONE_SIZE, "cloth"
_KINDS = (".svg", ".dxf", ".pdf")


@dataclass(frozen=True)
class Wanted:
    """What is wanted of the files that are named.

    unit_mm : what one unit of the drawings measures, whatever they say; None to take their word.
    size : the one size to read, None for all. join_mm : ends of lines this near are joined.
    pick : what of PDF files. taken : how the files were photographed or scanned; None where they
        are drawings.
    """

    unit_mm: float | None = None
    size: str | None = None
    join_mm: float = JOIN_MM
    pick: Pick = EVERYTHING
    taken: Taken | None = None


@dataclass(frozen=True)
class Imported:
    """A pattern's pieces in its sample size, and what gives them in the others.

    size, pieces : the sample size and its pieces. sizes : all of them, in order.
    drawn : size -> the same pieces in the same order, for each of several sizes that are drawn;
        empty otherwise. rules : rule -> size -> its move in mm, where rules grade the pieces.
    title : of the pattern. no_grain_deg : direction taken for the grain where none is drawn;
        None where it is asked for. photos : what is known of each, where they are photos.
    cloths : name -> what the files say of it. scales : one a file. holds : what PDFs have to choose
        from. passed_over : what was not read -> how often. changed : what was read, but not as it
        stands there.
    """

    title: str
    size: str
    pieces: tuple[FlatPiece, ...]
    scales: tuple[Scale, ...]
    holds: tuple[str, ...]
    passed_over: Counter[str]
    changed: tuple[str, ...]
    no_grain_deg: float | None
    sizes: tuple[str, ...]
    drawn: Mapping[str, tuple[FlatPiece, ...]]
    rules: Mapping[int, Mapping[str, Move]]
    cloths: Mapping[str, ClothFacts]
    photos: PhotosRead | None = None


@dataclass(frozen=True)
class _File:
    path: Path
    scale: Scale
    pieces: list[FlatPiece]
    holds: tuple[str, ...]
    passed_over: Counter[str]
    style: str
    sample_size: str
    rule_table: str
    is_pattern: bool
    cloths: tuple[ClothFacts, ...]


def import_drawings(paths: Sequence[Path], wanted: Wanted = Wanted()) -> Imported:
    """What the files hold, one of which may hold grade rules. Raises FaultyInput for what can't be
    read, ScaleUnknown for a scale that is missing or can't be right and that nobody has told."""
    if wanted.taken is not None:
        return _photographed(paths, wanted.taken)
    files, ruled = _read_all(paths, wanted)
    doubtful = [file.scale for file in files if file.scale.doubt]
    if doubtful and wanted.unit_mm is None:
        raise ScaleUnknown(doubtful)
    changed: list[str] = []
    passed_over: Counter[str] = sum((file.passed_over for file in files), Counter())
    found = [piece for file in files for piece in file.pieces]
    sample = next((file.sample_size for file in files if file.sample_size), "")
    if ruled and wanted.size is None:
        table = next((file.rule_table for file in files if file.rule_table), "")
        sized = by_rules(*ruled, wanted.unit_mm, found, sample, table)
    else:
        sized = as_drawn(found, sample, wanted.size, ", ".join(str(file.path) for file in files))
    passed_over += sized.passed_over
    changed += sized.told
    style = next((file.style for file in files if file.style), files[0].path.stem)
    told = [facts for file in files for facts in file.cloths]
    pieces = _named(sized.pieces, told[0].name if len(told) == 1 else NO_CLOTH, changed)
    sizes = _sound_sizes(sized.sizes, changed)
    return Imported(
        title=_sound(style, "pattern", changed),
        size=sizes[sized.sample],
        pieces=pieces,
        scales=tuple(file.scale for file in files),
        holds=tuple(thing for file in files for thing in file.holds),
        passed_over=passed_over,
        changed=tuple(changed),
        no_grain_deg=0.0 if all(file.is_pattern for file in files) else 90.0,
        sizes=tuple(sizes.values()),
        drawn={
            sizes[each]: tuple(
                replace(piece, name=own.name, cloth=own.cloth)
                for piece, own in zip(drawn, pieces, strict=True)
            )
            for each, drawn in sized.drawn.items()
        },
        rules={
            rule: {sizes[each]: move for each, move in moves.items()}
            for rule, moves in sized.moves.items()
        },
        cloths={_sound(facts.name, NO_CLOTH, []): facts for facts in reversed(told)},
    )


def _photographed(paths: Sequence[Path], taken: Taken) -> Imported:
    """What photos hold."""
    read = read_photos(paths, taken)
    changed = list(read.changed)
    pieces = _named(read.pieces, NO_CLOTH, changed)
    return Imported(
        title=_sound(paths[0].stem, "pattern", changed),
        size=NO_SIZE,
        pieces=pieces,
        scales=(),
        holds=(),
        passed_over=Counter({"specks of dust": read.specks} if read.specks else {}),
        changed=tuple(changed),
        no_grain_deg=None,
        sizes=(NO_SIZE,),
        drawn={},
        rules={},
        cloths={},
        photos=read,
    )


def _read_all(
    paths: Sequence[Path], wanted: Wanted
) -> tuple[list[_File], tuple[Path, RuleFile] | None]:
    """The drawings, one or more, and the rule file if there is one."""
    faults: list[Fault] = []
    files: list[_File] = []
    ruled: list[tuple[Path, RuleFile]] = []
    drawings = [path for path in paths if path.suffix.lower() != RULES]
    for path in paths:
        place = FaultList(path, found=faults)
        with place.gathering(""):
            if path in drawings:
                files.append(_read(path, wanted))
            elif not drawings:
                raise Unusable("it holds rules and no pieces", "Name the drawing (DXF) with it")
            elif ruled:
                raise Unusable("this is the second rule file", "Import one pattern at a time")
            else:
                ruled.append((path, read_rules(path)))
    if faults:
        raise FaultyInput(faults)
    return files, ruled[0] if ruled else None


def _opened(path: Path, pick: Pick, budget: Budget) -> SvgFile | DxfFile | PdfFile:
    kind = path.suffix.lower()
    if kind in SUFFIXES:
        raise Unusable(
            "a photo is read with the help of something of known size in it",
            "Say what: --reference a4, letter, marks, or '10 cm' for a square",
        )
    if kind not in _KINDS:
        raise Unusable(
            "this kind of file is not read",
            f"Name a file in {', '.join(_KINDS)} or {RULES}, or a photo with --reference",
        )
    if kind == ".pdf":
        return PdfFile(path, pick, budget)
    if pick != EVERYTHING:
        raise Unusable(
            "pages, layers and looks of lines are chosen of PDF files only",
            "Leave out --pages, --tiles, --layer, --colour and --dashes",
        )
    return SvgFile(path, budget) if kind == ".svg" else DxfFile(path, budget)


def _read(path: Path, wanted: Wanted) -> _File:
    budget = Budget()
    file = _opened(path, wanted.pick, budget)
    every = file.strokes(wanted.unit_mm)
    own = file.scales[0][1] if file.scales else file.guess_mm
    passed_over: Counter[str] = Counter()
    pieces: list[FlatPiece] = []
    squares: list[ScaleSquare] = []
    for strokes in every:
        pieces += pieces_in(strokes, wanted.join_mm, told=wanted.unit_mm is not None)
        passed_over += strokes.passed_over
        squares += strokes.squares
        Most.PIECES.demand(len(pieces))
    pieces = _without_copies(pieces, passed_over)
    if not pieces:
        raise Unusable(
            "there is no closed outline in it" + _passed(passed_over),
            "Draw each piece as one closed line, or lines that meet end to end",
        )
    longest_mm = max(float(np.ptp(piece.outline, axis=0).max()) for piece in pieces)
    used = wanted.unit_mm or own
    dxf = file if isinstance(file, DxfFile) else None
    usual = (PIXEL, *UNITS) if isinstance(file, SvgFile) else UNITS
    return _File(
        path,
        scale_of(path, file.scales, used, longest_mm, squares, usual),
        pieces,
        tuple(file.holds) if isinstance(file, PdfFile) else (),
        passed_over,
        style=dxf.style_name if dxf else "",
        sample_size=dxf.sample_size if dxf else "",
        rule_table=dxf.rule_table if dxf else "",
        is_pattern=(dxf is not None and dxf.is_pattern)
        or (isinstance(file, PdfFile) and file.is_ours),
        cloths=file.cloths,
    )


def _without_copies(pieces: Sequence[FlatPiece], passed_over: Counter[str]) -> list[FlatPiece]:
    """The pieces without those of no name that lie just where one with a name does."""
    named = [piece for piece in pieces if piece.name]
    lines = [shapely.LinearRing(piece.outline) for piece in named]
    tree = shapely.STRtree(lines)
    kept = []
    for piece in pieces:
        line = shapely.LinearRing(piece.outline)
        near = () if piece.name else tree.query(line)
        if any(shapely.hausdorff_distance(lines[k], line) <= JOIN_MM for k in near):
            passed_over["outlines that are drawn twice"] += 1
        else:
            kept.append(piece)
    return kept


def _passed(passed_over: Counter[str]) -> str:
    said = ", ".join(f"{count} {what}" for what, count in passed_over.most_common(5))
    return f" ({said})" if said else ""


def _sound_sizes(sizes: Sequence[str], changed: list[str]) -> dict[str, str]:
    """Each size as written -> its name in the job."""
    sound = [_sound(size or NO_SIZE, NO_SIZE, changed) for size in sizes]
    return dict(zip(sizes, unique_names(sound), strict=True))


def _named(pieces: Sequence[FlatPiece], cloth: str, changed: list[str]) -> tuple[FlatPiece, ...]:
    """Each piece with a name of its own that a job can hold, and a cloth; `cloth` where it has
    none."""
    sound = [
        _sound(piece.name or f"piece {k}", f"piece {k}", changed)
        for k, piece in enumerate(pieces, 1)
    ]
    names = unique_names(sound)
    changed += [
        f"'{name}' is there more than once; another is now '{own}'"
        for name, own in zip(sound, names, strict=True)
        if own != name
    ]
    return tuple(
        replace(piece, name=name, cloth=_sound(piece.cloth or cloth, NO_CLOTH, changed))
        for piece, name in zip(pieces, names, strict=True)
    )


def _sound(name: str, otherwise: str, changed: list[str]) -> str:
    """The name without what a name can't hold."""
    plain = " ".join(name.split())
    if name_fault(plain) is None:
        return plain
    kept = "".join(" " if c in "./\\" or not c.isprintable() else c for c in plain)
    kept = " ".join(kept.split())[: LONGEST_NAME - 4].strip() or otherwise
    changed.append(f"the name {plain[:80]!r} is now '{kept}'")
    return kept
