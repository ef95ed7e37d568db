"""Pydantic's findings in the words of the person who must correct the file."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, TypeVar

from pydantic import BaseModel, ValidationError
from pydantic_core import ErrorDetails

from marker.files.faults import FaultList, nearest
from marker.files.tables import About, table_at

Model = TypeVar("Model", bound=BaseModel)

# pydantic's error type -> problem, remedy; {name} from pydantic's own context
_WORDS: dict[str, tuple[str, str]] = {
    "missing": ("this is missing", "Add it"),
    "string_type": ("a text is expected here", "Put it in quotation marks"),
    "int_type": ("a whole number is expected here", "Write a number such as 2"),
    "float_type": ("a number is expected here", "Write a number without quotation marks"),
    "finite_number": ("the number is not finite", "Write a finite number"),
    "bool_type": ("true or false is expected here", "Write true or false, without quotation marks"),
    "list_type": ("a list is expected here", "Write it in square brackets"),
    "dict_type": ("a table is expected here", "Write it as a table of keys and values"),
    "model_type": ("a table is expected here", "Write it as a table of keys and values"),
    "model_attributes_type": ("a table is expected here", "Write it as a table of keys and values"),
    "union_tag_not_found": ("its kind is missing", 'Add one, such as kind = "rectangle"'),
    "greater_than": ("the number is too small", "Give a number above {gt}"),
    "greater_than_equal": ("the number is too small", "Give {ge} or more"),
    "less_than": ("the number is too large", "Give a number below {lt}"),
    "less_than_equal": ("the number is too large", "Give at most {le}"),
    "too_short": ("this has {entries}, too few", "Give at least {min_length}"),
    "too_long": ("this has {entries}, too many", "Give at most {max_length}"),
    "string_too_short": ("the text is empty", "Write something"),
    "string_too_long": ("the text is too long", "Use at most {max_length} characters"),
}
_OTHER = ("this value can't be used here", "`marker reference` says what it may be")
_BY_EXAMPLE = {"dict_type", "model_type", "model_attributes_type", "int_type"}
_WITH_EXAMPLE = {"string_type", "float_type", "list_type"}
_INTEGER_TYPES = {"int_from_float", "int_parsing", "int_parsing_size"}


def validated(
    model: type[Model],
    raw: Mapping[str, Any],
    faults: FaultList,
    context: Any = None,
) -> Model | None:
    """`raw` as `model`, or None with every fault noted; the same one under a key is counted."""
    try:
        return model.model_validate(raw, context=context)
    except ValidationError as error:
        alike: dict[tuple[Any, str, str], list[str]] = {}
        for detail in error.errors(include_url=False):
            said = _plain(detail, model)
            alike.setdefault((detail["loc"][:1], *said), []).append(_key(detail["loc"]))
        for (_, problem, remedy), keys in alike.items():
            more = f" (and {len(keys) - 1} more like it there)" if len(keys) > 1 else ""
            faults.add(keys[0], problem + more, remedy)
        return None


def _key(loc: tuple[int | str, ...]) -> str:
    """('points', 0, 1) -> 'points[1][2]': entries are counted from 1, as people count. A key that
    nobody wrote is empty."""
    text = ""
    for step in loc:
        text += f"[{step + 1}]" if isinstance(step, int) else f".{step}" if step else ""
    return text.removesuffix(".[key]").lstrip(".")


def _bare(value: Any) -> Any:
    """A whole number without a point: '0' for 0.0."""
    return int(value) if isinstance(value, float) and value.is_integer() else value


def _plain(detail: ErrorDetails, model: type[BaseModel]) -> tuple[str, str]:
    kind = detail["type"]
    context = {name: _bare(value) for name, value in detail.get("ctx", {}).items()}
    if kind == "marker":
        return context["problem"], context["remedy"]
    if kind == "extra_forbidden":
        return _unknown_key(detail["loc"], model)
    if kind == "union_tag_invalid":
        kinds = [tag.strip("' ") for tag in context["expected_tags"].split(",")]
        return f"'{context['tag']}' is not known here", nearest(context["tag"], kinds)
    if kind in _INTEGER_TYPES:
        kind = "int_type"
    if kind == "missing":
        return _WORDS[kind][0], "Add it" + _such_as(detail["loc"], model)
    if kind in _BY_EXAMPLE and (example := _such_as(detail["loc"], model)):
        return _WORDS[kind][0], f"Write it as one{example}"
    if kind in _WITH_EXAMPLE:
        return _WORDS[kind][0], _WORDS[kind][1] + _such_as(detail["loc"], model)
    if "actual_length" in context:
        number = context["actual_length"]
        context["entries"] = f"{number} {'entry' if number == 1 else 'entries'}"
    problem, remedy = _WORDS.get(kind, _OTHER)
    return problem.format(**context), remedy.format(**context)


def _such_as(loc: tuple[int | str, ...], model: type[BaseModel]) -> str:
    """How a key may be written, ', such as key = value', where an example is known."""
    table = table_at(model, loc[:-1])
    field = table.model_fields.get(str(loc[-1])) if table else None
    example = field.json_schema_extra if field else None
    if not isinstance(example, About):
        return ""
    return f", such as {loc[-1]} = {example.example}"


def _unknown_key(loc: tuple[int | str, ...], model: type[BaseModel]) -> tuple[str, str]:
    table = table_at(model, loc[:-1])
    return f"unknown key '{loc[-1]}'", nearest(str(loc[-1]), table.model_fields if table else ())
