"""From layers of figures to a panel: what is missing, what contradicts itself, and the inks."""

from collections.abc import Iterator, Mapping
from types import MappingProxyType
from typing import Any, cast

from wallbill.errors import FaultList, PanelError, Place
from wallbill.panels.layer import NONE, Figure, Figures
from wallbill.panels.model import Climate, Edge, Ink, Outline, Panel, Refresh, Tone

# Every figure that a panel must have; `inks` may come as `greys`, `climate` may be unknown.
_NEEDED = (
    "pixels",
    "active_mm",
    "tone",
    "refresh.full_s",
    "refresh.fast_s",
    "refresh.partial_s",
    "refresh.least_interval_s",
    "refresh.longest_rest_s",
    "outline.size_mm",
    "outline.thickness_mm",
    "outline.active_offset_mm",
    "outline.tail",
    "yule_nielsen_n",
)


def layered(*layers: Figures) -> Figures:
    """The figures of all layers, a later layer's before an earlier one's.

    A layer that names inks takes the place of greys, and the other way round.
    """
    found: dict[str, Figure] = {}
    for layer in layers:
        if "inks" in layer:
            found.pop("greys", None)
        if "greys" in layer:
            found.pop("inks", None)
        found |= layer
    return MappingProxyType(found)


def panel_of(name: str, figures: Figures, *, where: Place) -> Panel:
    """The panel that ``figures`` describe.

    ``where``: the profile as a whole, for what is missing from it. Raises `FaultList` with every fault.
    """
    figures = layered(_greys(figures), figures)
    faults = [
        PanelError(
            f"the profile lacks {key}",
            where=Place(where.file, where.line, key),
            mend=f"Add {key}, or start from a known panel with like = … or class = ….",
        )
        for key in _NEEDED
        if key not in figures
    ]
    inks, ink_faults = _inks(figures, where)
    faults += ink_faults
    if not faults:
        faults += _contradictions(figures)
    if faults:
        raise FaultList(tuple(faults))
    return _panel(name, figures, inks)


def _panel(name: str, figures: Figures, inks: tuple[Ink, ...]) -> Panel:
    """The panel of figures that are complete; the reading of each layer has checked every type."""

    def figure(key: str) -> Any:
        value = figures[key].value
        return None if value == NONE else value

    used = {ink.name for ink in inks}
    climate = "climate.lowest_c" in figures and "climate.highest_c" in figures
    return Panel(
        name=name,
        width_px=figure("pixels")[0],
        height_px=figure("pixels")[1],
        active_width_mm=float(figure("active_mm")[0]),
        active_height_mm=float(figure("active_mm")[1]),
        inks=inks,
        tone=Tone(figure("tone")),
        refresh=Refresh(
            **{
                key: figure(f"refresh.{key}")
                for key in ("full_s", "fast_s", "partial_s", "least_interval_s", "longest_rest_s")
            }
        ),
        outline=Outline(
            width_mm=float(figure("outline.size_mm")[0]),
            height_mm=float(figure("outline.size_mm")[1]),
            thickness_mm=float(figure("outline.thickness_mm")),
            active_offset_mm=figure("outline.active_offset_mm"),
            tail=Edge(figure("outline.tail")),
        ),
        yule_nielsen_n=float(figure("yule_nielsen_n")),
        sources=MappingProxyType(
            {key: found.source for key, found in figures.items() if not _of_unused_ink(key, used)}
        ),
        climate=Climate(figure("climate.lowest_c"), figure("climate.highest_c")) if climate else None,
    )


def _of_unused_ink(key: str, used: set[str]) -> bool:
    return key.startswith("ink.") and key.split(".")[1] not in used


def _inks(figures: Figures, where: Place) -> tuple[tuple[Ink, ...], list[PanelError]]:
    """The inks in the panel's order, and what is wrong with them."""
    if "greys" in figures:
        names = _grey_names(cast("int", figures["greys"].value))
        place = figures["greys"].where
    elif "inks" in figures:
        names = tuple(cast("list[str]", figures["inks"].value))
        place = figures["inks"].where
    else:
        mend = "Name the inks in the panel's order, such as inks = ['black', 'white', 'red']."
        return (), [
            PanelError("the profile lacks inks", where=Place(where.file, where.line, "inks"), mend=mend)
        ]
    faults = [
        PanelError(
            f"nothing says what the ink {name!r} looks like",
            where=place,
            mend=f"Add [ink.{name}] with css = '#rrggbb' and lab = [L, a, b].",
        )
        for name in names
        if f"ink.{name}.css" not in figures or f"ink.{name}.lab" not in figures
    ]
    if faults:
        return (), faults
    inks = tuple(_ink(name, figures) for name in names)
    return inks, [*_alike(inks, figures, place)]


def _ink(name: str, figures: Figures) -> Ink:
    code = cast("str", figures[f"ink.{name}.css"].value)
    red, green, blue = bytes.fromhex(code[1:])
    lightness, a, b = cast("tuple[float, float, float]", figures[f"ink.{name}.lab"].value)
    return Ink(name, (red, green, blue), (float(lightness), float(a), float(b)))


def _alike(inks: tuple[Ink, ...], figures: Figures, place: Place) -> Iterator[PanelError]:
    """Inks that a sheet or an eye could not tell apart."""
    seen: dict[object, str] = {}
    for ink in inks:
        for key, value in (("name", ink.name), ("css", ink.css), ("lab", ink.lab)):
            other = seen.setdefault((key, value), ink.name)
            if other != ink.name or (key == "name" and sum(one.name == ink.name for one in inks) > 1):
                found = figures.get(f"ink.{ink.name}.{key}")
                yield PanelError(
                    f"the inks {other!r} and {ink.name!r} have the same {key}",
                    where=found.where if found else place,
                    mend="Give each ink a name, a css colour and a lab colour of its own.",
                )
                break


def _grey_names(count: int) -> tuple[str, ...]:
    return ("black", *(f"grey-{step}" for step in range(1, count - 1)), "white")


def _greys(figures: Figures) -> Figures:
    """The greys between black and white: even steps in sRGB code, rounded to whole codes, and in CIELAB."""
    if "greys" not in figures:
        return MappingProxyType({})
    count = cast("int", figures["greys"].value)
    ends = [figures.get(f"ink.{end}.lab") for end in ("black", "white")]
    black, white = (cast("tuple[float, ...]", end.value) if end else None for end in ends)
    if black is None or white is None:
        return MappingProxyType({})
    origin = figures["greys"]
    found: dict[str, Figure] = {}
    for step, name in enumerate(_grey_names(count)[1:-1], 1):
        code = round(255 * step / (count - 1))
        share = step / (count - 1)
        lab = tuple(round(k + (w - k) * share, 3) for k, w in zip(black, white, strict=True))
        found[f"ink.{name}.css"] = Figure(f"#{code:02x}{code:02x}{code:02x}", origin.source, origin.where)
        found[f"ink.{name}.lab"] = Figure(lab, origin.source, origin.where)
    return MappingProxyType(found)


def _contradictions(figures: Figures) -> Iterator[PanelError]:
    """Figures that cannot all be right."""
    values: Mapping[str, Any] = {key: found.value for key, found in figures.items()}
    pixels, active_mm = values["pixels"], values["active_mm"]
    pitches = [size / count for size, count in zip(active_mm, pixels, strict=True)]
    if max(pitches) > 1.1 * min(
        pitches
    ):  # a choice: panels of this trade have square pixels, within a few percent
        yield PanelError(
            f"pixels of {pitches[0]:.3f} by {pitches[1]:.3f} mm are not square",
            where=figures["active_mm"].where,
            mend="Check that pixels and active_mm are both width before height.",
        )
    for axis, side in enumerate(("width", "height")):
        offset, size = values["outline.active_offset_mm"][axis], values["outline.size_mm"][axis]
        if offset + active_mm[axis] > size:
            yield PanelError(
                f"the active area sticks out of the outline: {side} {offset:g} + {active_mm[axis]:g} > {size:g} mm",
                where=figures["outline.active_offset_mm"].where,
                mend="Measure the outline and the offset again.",
            )
    if values["refresh.least_interval_s"] > values["refresh.longest_rest_s"]:
        yield PanelError(
            "the least interval is longer than the longest rest",
            where=figures["refresh.least_interval_s"].where,
            mend="Make refresh.longest_rest_s the longer of the two.",
        )
    if values.get("climate.lowest_c", -1000) >= values.get("climate.highest_c", 1000):
        yield PanelError(
            "the lowest temperature is not below the highest",
            where=figures["climate.lowest_c"].where,
            mend="Make climate.highest_c the higher of the two.",
        )
