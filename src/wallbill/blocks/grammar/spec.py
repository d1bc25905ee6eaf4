"""A chart's spec: read, checked, filled with data, and made into what the library is asked for."""

import json
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from wallbill.blocks.grammar.rows import Row
from wallbill.blocks.grammar.theme import NAMES, config
from wallbill.errors import Place, SheetError

MOST_BYTES = 4 << 20
_MOST_DEPTH = 60
_DATA_KEYS = frozenset({"values", "datasets"})
_ANGLES = frozenset({"theta", "radius"})
_VIEWS = frozenset({"mark", "layer"})
_WHOLE_SIZE = "fit"


@dataclass(frozen=True, slots=True)
class Request:
    """What the library is asked to lay out. ``spec``: JSON text. ``language``: a BCP 47 tag. ``zone``: a name of IANA."""

    spec: str
    language: str
    zone: str


Engrave = Callable[[Request], str]
"""Lays a chart out and gives its SVG; raises `SheetError` where that cannot be done."""


@dataclass(frozen=True, slots=True)
class Look:
    """How large a chart is to be, in pixels: the whole of it, its type, its lines."""

    width_px: int
    height_px: int
    label_px: int
    line_px: int


def read_spec(text: str, *, file: str) -> dict[str, Any]:
    """A spec from JSON text. Raises `SheetError` with the line of a fault."""
    try:
        found = json.loads(text)
    except json.JSONDecodeError as fault:
        raise SheetError(
            f"this is no JSON: {fault.msg}", where=Place(file, fault.lineno), mend="Mend this line."
        ) from fault
    except RecursionError as fault:
        raise _too_deep(file) from fault
    if not isinstance(found, dict):
        raise SheetError("a spec is a JSON object", where=Place(file), mend='Begin it with "{".')
    return found


def composed(
    spec: Mapping[str, Any], data: list[Row] | Mapping[str, list[Row]] | None, *, look: Look, file: str
) -> str:
    """The whole spec as JSON: checked, with its data, its size and the theme under its own ``config``.

    ``data``: the rows of the chart, or several sets by the names that the spec calls them by. ``file``: for messages.
    Raises `SheetError` for a spec that asks for anything outside of it, or is too large.
    """
    _check(spec, file=file)
    whole = dict(spec)
    if isinstance(data, Mapping):
        whole["datasets"] = {**spec.get("datasets", {}), **data}
    elif data is not None:
        whole["data"] = {**_form(spec), "values": data}
    if _VIEWS & whole.keys() and not _facetted(whole):
        whole.update(width=look.width_px, height=look.height_px)
        whole["autosize"] = {"type": _WHOLE_SIZE, "contains": "padding"}
    own = spec.get("config")
    whole["config"] = _merged(
        config(label_px=look.label_px, line_px=look.line_px), own if isinstance(own, dict) else {}
    )
    text = json.dumps(_in_inks(whole), ensure_ascii=False, separators=(",", ":"), default=str)
    if len(text) > MOST_BYTES:
        raise SheetError(
            f"the chart with its data is {len(text) / 2**20:.1f} MiB of JSON, the most is {MOST_BYTES >> 20}",
            where=Place(file),
            mend="Hand it fewer rows: what lies closer than a pixel is not seen.",
        )
    return text


def alternative(spec: Mapping[str, Any]) -> str:
    """The text that stands for the chart: its description, else its title and subtitle, else nothing."""
    if isinstance(told := spec.get("description"), str) and told:
        return told
    title = spec.get("title", "")
    parts = [title.get("text", ""), title.get("subtitle", "")] if isinstance(title, dict) else [title]
    lines = [" ".join(map(str, part)) if isinstance(part, list) else str(part) for part in parts if part]
    return ". ".join(lines)


def _form(spec: Mapping[str, Any]) -> dict[str, Any]:
    """The part of a spec's ``data`` that says how to read it."""
    data = spec.get("data")
    return {"format": data["format"]} if isinstance(data, dict) and "format" in data else {}


def _facetted(spec: Mapping[str, Any]) -> bool:
    """Whether the chart is a row of charts, whose parts have sizes of their own."""
    encoding = spec.get("encoding")
    return isinstance(encoding, dict) and bool({"row", "column", "facet"} & encoding.keys())


def _check(spec: Mapping[str, Any], *, file: str) -> None:
    """Raises `SheetError` for what a chart on a wall may not ask for."""
    schema = str(spec.get("$schema", "vega-lite"))
    if "vega-lite" not in schema:
        raise SheetError(
            f"this spec is of another kind: {schema}",
            where=Place(file, field="$schema"),
            mend="Write it in Vega-Lite; programs in Vega are not run.",
        )
    try:
        for path, holder in _objects(spec):
            _check_object(path, holder, file=file)
    except RecursionError as fault:
        raise _too_deep(file) from fault


def _check_object(path: str, holder: Mapping[str, Any], *, file: str) -> None:
    data = holder.get("data")
    if isinstance(data, dict) and "url" in data:
        raise SheetError(
            f"a chart loads nothing from outside: {str(data['url'])[:80]!r}",
            where=Place(file, field=f"{path}data.url"),
            mend="Let a source fetch it, and hand the chart data=facts.NAME.",
        )
    mark = holder.get("mark")
    if (mark.get("type") if isinstance(mark, dict) else mark) == "image":
        raise SheetError(
            "a chart holds no pictures",
            where=Place(file, field=f"{path}mark"),
            mend="Use a point with a shape, or lay the picture over the chart in the sheet.",
        )


def _objects(value: object, path: str = "", depth: int = 0) -> Iterator[tuple[str, Mapping[str, Any]]]:
    """Every object of a spec with its path, data left out."""
    if depth > _MOST_DEPTH:
        raise RecursionError
    if isinstance(value, Mapping):
        yield path, value
        for key, inner in value.items():
            if key not in _DATA_KEYS:
                yield from _objects(inner, f"{path}{key}.", depth + 1)
    elif isinstance(value, list | tuple):
        for number, inner in enumerate(value):
            yield from _objects(inner, f"{path}{number}.", depth + 1)


def _too_deep(file: str) -> SheetError:
    return SheetError(
        f"the spec is nested more than {_MOST_DEPTH} deep", where=Place(file), mend="Write it flatter."
    )


def _merged(under: Mapping[str, Any], over: Mapping[str, Any]) -> dict[str, Any]:
    """Two configurations, the second over the first, object by object."""
    result = dict(under)
    for key, value in over.items():
        below = result.get(key)
        result[key] = _merged(below, value) if isinstance(below, dict) and isinstance(value, dict) else value
    return result


def _in_inks(value: Any, key: str = "") -> Any:
    """A spec with the sheet's names of inks as colours, and without faces, which are the sheet's matter."""
    if isinstance(value, dict):
        value = _exact_angles(value) if key == "encoding" else value
        return {
            name: inner if name in _DATA_KEYS else _in_inks(inner, name)
            for name, inner in value.items()
            if not (name.endswith(("Font", "font")) and isinstance(inner, str) and name != "font")
        }
    if isinstance(value, list | tuple):
        return [_in_inks(inner, key) for inner in value]
    if (
        isinstance(value, str)
        and value in NAMES
        and key not in {"field", "text", "title", "as", "groupby", "type"}
    ):
        return NAMES[value]
    return value


def _exact_angles(encoding: dict[str, Any]) -> dict[str, Any]:
    """An encoding whose angles are not rounded: whole pixels are meant for what lies across and up."""
    exact = dict(encoding)
    for channel in _ANGLES & encoding.keys():
        given = encoding[channel]
        if isinstance(given, dict) and given.get("scale", {}) is not None:
            exact[channel] = {**given, "scale": {"round": False, **given.get("scale", {})}}
    return exact
