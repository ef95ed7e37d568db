"""New jobs in their folder, and a picture of every piece that was read for one."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from marker.drawing.read_pieces import ReadPiece, render_read
from marker.exchange.flat_piece import FlatPiece
from marker.exchange.importing import Imported
from marker.exchange.scale import square_words
from marker.files.own_files import Contents, OwnFiles
from marker.files.writing import output_folder
from marker.jobfile.editor_schema import SCHEMA_FILE, with_schema
from marker.words import counted, size_words

PICTURE = "pieces.pdf"


def write_job(
    folder: Path, texts: Mapping[str, str], by: str, drawn: Contents | None = None
) -> list[Path]:
    """Write a new job, all files or none; their paths. The folder is made if need be.

    by : the command. drawn : what is drawn of the job, name -> contents. Raises FaultyInput where a
    person's file is in the way, or one of another command.
    """
    contents: dict[str, bytes | str] = {**with_schema(texts), **(drawn or {})}
    with output_folder(folder):
        own = OwnFiles(folder)
        if _holds(folder / SCHEMA_FILE, str(contents[SCHEMA_FILE])):
            del contents[SCHEMA_FILE]  # another job beside it has the same
        own.replace(contents, by)
    return [folder / name for name in contents]


def _holds(path: Path, text: str) -> bool:
    try:
        return path.read_bytes() == text.encode()
    except OSError:
        return False


def picture_of(imported: Imported) -> dict[str, bytes]:
    """File name -> the picture of all pieces read, with what the test squares measure, and each
    photo with what was found in it."""
    said = [square_words(square) for scale in imported.scales for square in scale.squares]
    said += [f"{scale.file.name}: one unit is {scale.unit_mm:.6g} mm" for scale in imported.scales]
    pieces = [_read(piece, imported) for piece in imported.pieces]
    photos = imported.photos.checks if imported.photos else {}
    return {PICTURE: render_read(imported.title, said, pieces), **photos}


def _read(piece: FlatPiece, imported: Imported) -> ReadPiece:
    cut = f"cut {piece.cut}" + (f", {piece.mirrored} mirrored" if piece.mirrored else "")
    size = size_words([imported.size])
    if len(imported.sizes) > 1:
        size += f" of {counted(len(imported.sizes), 'size')}"
    words = [", ".join(filter(None, [size, cut]))]
    if piece.grain is None:
        taken = {None: "still to be told", 0.0: "taken as to the right"}
        words.append(f"no grain line: {taken.get(imported.no_grain_deg, 'taken as up')}")
    return ReadPiece(
        name=piece.name,
        words=tuple(words),
        outline=piece.outline,
        cutouts=piece.cutouts,
        stitching=piece.stitching,
        grain=piece.grain,
        fold=piece.fold,
        notches=piece.notches,
        marks=piece.inner_marks,
    )
