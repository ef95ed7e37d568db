"""The JSON form: `{sheet_width, allowed_rotations_deg, pieces: [{id, quantity, polygon}]}`."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from marker.errors import FaultyInput
from marker.files.faults import FaultList
from tests.benchmarks.instance import Instance, InstancePiece, instance_outline

_Number = Annotated[float, Field(allow_inf_nan=False)]


class _Piece(BaseModel):
    model_config = ConfigDict(strict=True)

    id: str | int
    quantity: int = Field(gt=0)
    polygon: list[tuple[_Number, _Number]] = Field(min_length=3)


class _File(BaseModel):
    model_config = ConfigDict(strict=True)

    sheet_width: _Number = Field(gt=0)
    allowed_rotations_deg: list[_Number] = Field(min_length=1)
    pieces: list[_Piece] = Field(min_length=1)


def read_json(path: Path, text: str) -> Instance:
    """The instance in `text`; raises FaultyInput with every fault found. Other keys are ignored."""
    faults = FaultList(path)
    try:
        file = _File.model_validate_json(text)
    except ValidationError as error:
        for entry in error.errors(include_url=False):
            place = ".".join(str(part) for part in entry["loc"])
            faults.add(place, entry["msg"], "The form is described in tests/benchmarks/README.md")
        raise FaultyInput(faults.found) from error
    turns = tuple(float(turn) for turn in file.allowed_rotations_deg)
    pieces = []
    for index, piece in enumerate(file.pieces):
        with faults.gathering(f"pieces.{index}"):
            outline = instance_outline(piece.polygon)
            pieces.append(InstancePiece(str(piece.id), piece.quantity, turns, outline))
    faults.raise_any()
    return Instance(path.stem, file.sheet_width, tuple(pieces))
