"""One layer of a panel profile: some figures of a panel, each with its source and its place in a file.

A profile is made of layers: what its inks share, what its glass shares, what it alone has, and what a wall
says of its own copy. Each layer is a TOML table with the same keys, all optional.
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from math import inf
from types import MappingProxyType
from typing import Annotated, Literal

from pydantic import (
    AfterValidator,
    BaseModel,
    ConfigDict,
    Field,
    PlainValidator,
    ValidationError,
)

from wallbill.errors import FaultList, PanelError, Place
from wallbill.places.faults import faults_of, shown, wrong
from wallbill.places.scan import KeyPath
from wallbill.places.toml import Places

NONE = "none"
"""What a profile writes for a refresh that the panel cannot do."""


def _css(text: str) -> str:
    if not re.fullmatch(r"#[0-9a-f]{6}", text):
        raise wrong(f"{text!r} is no colour code", "Write it as '#rrggbb', six hexadecimal digits.")
    return text


def _lab(parts: tuple[float, float, float]) -> tuple[float, float, float]:
    lightness, *colour = parts
    if not 0 <= lightness <= 100 or any(abs(part) > 150 for part in colour):
        raise wrong(
            f"{list(parts)} is no colour in CIELAB", "Write [L, a, b]: L of 0 to 100, a and b of -150 to 150."
        )
    return parts


def _seconds_or_none(value: object) -> object:
    """Seconds of a refresh, or the word for a refresh that the panel cannot do."""
    number = isinstance(value, int | float) and not isinstance(value, bool)
    if value == NONE or (number and 0 < float(str(value)) < inf):
        return value
    raise wrong(
        f"{shown(value)} is neither seconds nor 'none'",
        "Write a number of seconds, or 'none' where the panel cannot do it.",
    )


def _stated(value: object, at: str = "") -> object:
    """``[sources]``: texts, or tables of texts, by the figure or group that each is for."""
    if not isinstance(value, Mapping):
        raise wrong(
            f"{shown(value)} is not a table", "Write [sources], and figure = 'where it comes from' below it."
        )
    for key, inner in value.items():
        if isinstance(inner, Mapping):
            _stated(inner, f"{at}{key}.")
        elif not isinstance(inner, str) or not inner.strip():
            raise wrong(
                f"the source of {at}{key} is not a text", "Write in quotes where the figure comes from."
            )
    return value


_Positive = Annotated[float, Field(gt=0, allow_inf_nan=False)]
_Seconds = Annotated[float | str, PlainValidator(_seconds_or_none)]
_Pair = Annotated[tuple[_Positive, _Positive], Field(strict=False)]
_Offset = Annotated[float, Field(ge=0, allow_inf_nan=False)]
_Degrees = Annotated[float, Field(ge=-60, le=120)]
_Pixels = Annotated[int, Field(ge=1, le=10_000)]
_Lab = Annotated[tuple[float, float, float], Field(strict=False), AfterValidator(_lab)]


class _Table(BaseModel):
    model_config = ConfigDict(strict=True, extra="forbid", frozen=True)


class _InkTable(_Table):
    css: Annotated[str, AfterValidator(_css)] | None = None
    lab: _Lab | None = None


class _RefreshTable(_Table):
    full_s: _Positive | None = None
    fast_s: _Seconds | None = None
    partial_s: _Seconds | None = None
    least_interval_s: Annotated[int, Field(ge=0)] | None = None
    longest_rest_s: Annotated[int, Field(ge=1)] | None = None


class _OutlineTable(_Table):
    size_mm: _Pair | None = None
    thickness_mm: _Positive | None = None
    active_offset_mm: Annotated[tuple[_Offset, _Offset], Field(strict=False)] | None = None
    tail: Literal["top", "right", "bottom", "left"] | None = None


class _ClimateTable(_Table):
    lowest_c: _Degrees | None = None
    highest_c: _Degrees | None = None


class LayerTable(_Table):
    """A layer as its file has it. ``like``: start from that profile; ``class``: from what its inks share."""

    like: str | None = None
    class_: str | None = Field(default=None, alias="class")
    pixels: Annotated[tuple[_Pixels, _Pixels], Field(strict=False)] | None = None
    active_mm: _Pair | None = None
    inks: Annotated[list[str], Field(min_length=2, max_length=16)] | None = None
    greys: Annotated[int, Field(ge=2, le=16)] | None = None
    tone: Literal["inks", "greys"] | None = None
    ink: dict[str, _InkTable] | None = None
    refresh: _RefreshTable | None = None
    outline: _OutlineTable | None = None
    climate: _ClimateTable | None = None
    yule_nielsen_n: Annotated[float, Field(ge=1, le=10)] | None = None
    sources: Annotated[Mapping[str, object] | None, PlainValidator(_stated)] = None


@dataclass(frozen=True, slots=True)
class Figure:
    """One figure of a profile: its value as the file gives it, where it comes from, and where it stands."""

    value: object
    source: str
    where: Place


Figures = Mapping[str, Figure]
"""Figures by their dotted names, such as ``refresh.full_s``; a later layer's replace an earlier one's."""

Stated = Mapping[str, str]
"""Sources by the dotted name of the figure, or of the group of figures, that they are for."""

_NOTHING: Stated = MappingProxyType({})
_NO_FIGURE = frozenset({"like", "class_", "sources"})


def read_layer(places: Places, at: KeyPath = ()) -> LayerTable:
    """The layer at a key path of a file, checked key by key; raises `FaultList` with every fault."""
    table: object = dict(places.values)
    for part in at:
        table = table[part] if isinstance(table, Mapping) and part in table else {}
    try:
        return LayerTable.model_validate(table)
    except ValidationError as error:
        raise FaultList(
            faults_of(error, LayerTable, place=lambda path: places.place(*at, *path), fault=PanelError)
        ) from error


def figures_of(layer: LayerTable, places: Places, *, at: KeyPath = (), stated: Stated = _NOTHING) -> Figures:
    """The figures of a layer by their dotted names, each with its source and place.

    ``at``: where the layer stands in its file. ``stated``: sources that the file states for all its layers.
    """
    sources = {**stated, **stated_sources(layer.sources or {})}
    given = {key: value for key, value in _given(layer).items() if key not in _NO_FIGURE}
    return MappingProxyType(
        {
            name: Figure(value, _source(name, sources, places.file), places.place(*at, *name.split(".")))
            for name, value in _flat(given).items()
        }
    )


def stated_sources(table: Mapping[str, object]) -> Stated:
    """The sources that ``[sources]`` states, by the dotted name of the figure or group that each is for."""
    return {name: str(source) for name, source in _flat(table).items()}


def _given(table: _Table) -> dict[str, object]:
    """The keys that a file gives of a table, in the order of its model."""
    return {key: getattr(table, key) for key in type(table).model_fields if key in table.model_fields_set}


def _flat(table: Mapping[str, object], prefix: str = "") -> dict[str, object]:
    """Nested tables as one, keys joined by dots; of a checked table, only what its file says."""
    found: dict[str, object] = {}
    for key, value in table.items():
        inner = (
            {part: getattr(value, part) for part in value.model_fields_set}
            if isinstance(value, _Table)
            else value
        )
        if isinstance(inner, Mapping):
            found |= _flat(inner, f"{prefix}{key}.")
        else:
            found[f"{prefix}{key}"] = inner
    return found


def _source(name: str, stated: Stated, file: str) -> str:
    """The source stated for a figure, or for the group that it belongs to."""
    parts = name.split(".")
    for end in range(len(parts), 0, -1):
        if found := stated.get(".".join(parts[:end])):
            return found
    return f"{file}, which gives no source"
