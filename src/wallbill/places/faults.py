"""From what a pydantic model refuses to faults that people can mend, each with file, line and field."""

from collections.abc import Callable, Mapping
from typing import Any, get_args

from pydantic import BaseModel, ValidationError
from pydantic_core import ErrorDetails, PydanticCustomError

from wallbill.errors import Place, WallbillError
from wallbill.places.scan import KeyPath
from wallbill.places.toml import dotted
from wallbill.places.words import did_you_mean

PlaceOf = Callable[[KeyPath], Place]

_OURS = "wallbill"
_LONGEST_SHOWN = 40

# The kinds of value that pydantic asks for, in a person's words.
_WANTED = (
    ("string", "a text in quotes"),
    ("int", "a whole number"),
    ("float", "a number"),
    ("bool", "true or false"),
    ("list", "a list in [ ]"),
    ("tuple", "a list in [ ]"),
    ("dict", "a table"),
    ("mapping", "a table"),
    ("model", "a table"),
)


def wrong(what: str, mend: str) -> PydanticCustomError:
    """What a validator raises: ``what`` is wrong with the value, and how to ``mend`` it."""
    return PydanticCustomError(_OURS, "{what}", {"what": what, "mend": mend})


def shown(value: object) -> str:
    """A value of a TOML file as it may be printed in a message, cut short."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, Mapping):
        return "a table"
    if isinstance(value, list | tuple):
        return "a list"
    text = repr(value)
    return text if len(text) <= _LONGEST_SHOWN else f"{text[: _LONGEST_SHOWN - 1]}…"


def faults_of(
    error: ValidationError, model: type[BaseModel], *, place: PlaceOf, fault: type[WallbillError]
) -> tuple[WallbillError, ...]:
    """Every fault that ``error`` tells of, in the order of the file.

    ``model``: what was being read, for the names of its keys. ``place``: where a key path stands.
    """
    found = []
    for details in error.errors(include_url=False):
        path = _path(details, model)
        what, mend = _wording(details, model, path)
        found.append(fault(what, where=place(path), mend=mend))
    return tuple(sorted(found, key=lambda one: one.where.line or 0))


def _path(details: ErrorDetails, model: type[BaseModel]) -> KeyPath:
    """The key path in the file: pydantic's location, without the names that it adds for keys of mappings."""
    return tuple(part for part in details["loc"] if part != "[key]")


def _keys(model: type[BaseModel]) -> Mapping[str, Any]:
    """A model's keys as the file has them, to what stands there."""
    return {field.alias or name: field.annotation for name, field in model.model_fields.items()}


def _inner(annotation: Any) -> type[BaseModel] | None:
    """The model inside an annotation such as ``tuple[Entry, ...] | None``, if there is one."""
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return annotation
    return next((found for part in get_args(annotation) if (found := _inner(part))), None)


def _model_at(model: type[BaseModel], path: KeyPath) -> type[BaseModel]:
    """The model of the table that a path leads to; keys of mappings and list positions stay inside it."""
    for part in path:
        keys = _keys(model)
        if isinstance(part, str) and part in keys and (inner := _inner(keys[part])):
            model = inner
    return model


def _wording(details: ErrorDetails, model: type[BaseModel], path: KeyPath) -> tuple[str, str]:
    """What is wrong and how to mend it, for one of pydantic's complaints."""
    kind, context, value = details["type"], details.get("ctx", {}), details["input"]
    if kind == _OURS:
        return str(context["what"]), str(context["mend"])
    if kind == "missing" and isinstance(path[-1], int):
        return "the list is too short", "Add what is missing at its end."
    if kind == "missing":
        return f"{path[-1]!r} is missing", _missing_mend(model, path)
    if kind == "extra_forbidden":
        known = _keys(_model_at(model, path[:-1]))
        return f"unknown key {str(path[-1])!r}", did_you_mean(str(path[-1]), known)
    if kind in {"literal_error", "enum"}:
        return f"{shown(value)} is none of {context['expected']}", f"Use {context['expected']}."
    if limit := _limit(kind, context):
        return f"{shown(value)} is not {limit}", f"Write a value that is {limit}."
    wanted = next((words for sign, words in _WANTED if kind.startswith(sign)), None)
    if wanted:
        return f"{shown(value)} is not {wanted}", f"Write {wanted}."
    return f"{shown(value)}: {details['msg'][:1].lower()}{details['msg'][1:]}", "Correct the value."


def _missing_mend(model: type[BaseModel], path: KeyPath) -> str:
    around = path[:-1]
    if _inner(_keys(_model_at(model, around)).get(str(path[-1]))):
        return f"Add the table [{dotted(path)}]."
    return f"Add {path[-1]} = … to {dotted(around)}." if around else f"Add {path[-1]} = … ."


def _limit(kind: str, context: Mapping[str, Any]) -> str | None:
    """A limit that a value broke, in words."""
    words = {
        "greater_than": ("more than", "gt"),
        "greater_than_equal": ("at least", "ge"),
        "less_than": ("less than", "lt"),
        "less_than_equal": ("at most", "le"),
    }
    if kind in words:
        word, key = words[kind]
        return f"{word} {context[key]:g}"
    if kind == "too_short":
        return f"a list of {context['min_length']} or more"
    if kind == "too_long":
        return f"a list of {context['max_length']} or fewer"
    if kind == "finite_number":
        return "a finite number"
    return None
