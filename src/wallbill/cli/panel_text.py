"""Panels in words: a table that compares them, one in full, and plain values for JSON."""

from collections.abc import Iterable, Iterator, Mapping, Sequence

from wallbill.panels.model import Ink, Panel

_HEAD = ("panel", "inches", "pixels", "pitch", "px/inch", "inks", "full", "fast", "part", "least", "outline")
_UNITS = ("", "", "", "mm", "", "", "s", "s", "s", "min", "mm")
_LEFT = frozenset({0, 2, 10})
_RECKONED = "reckoned from pixels and active area"


def comparison(panels: Iterable[Panel]) -> str:
    """One line a panel: size, pixels, pitch, inks, seconds of a refresh, least interval, outline."""
    rows = [_HEAD, _UNITS, *(_row(panel) for panel in panels)]
    widths = [max(map(len, column)) for column in zip(*rows, strict=True)]
    return "\n".join(_line(row, widths) for row in rows)


def _line(row: Sequence[str], widths: Sequence[int]) -> str:
    cells = (
        cell.ljust(size) if column in _LEFT else cell.rjust(size)
        for column, (cell, size) in enumerate(zip(row, widths, strict=True))
    )
    return "  ".join(cells).rstrip()


def _row(panel: Panel) -> tuple[str, ...]:
    refresh, outline = panel.refresh, panel.outline
    return (
        panel.name,
        f"{panel.diagonal_in:.1f}",
        f"{panel.width_px} × {panel.height_px}",
        f"{panel.pitch_mm:.3f}",
        f"{panel.pixels_per_inch:.0f}",
        str(len(panel.inks)),
        _seconds(refresh.full_s),
        _seconds(refresh.fast_s),
        _seconds(refresh.partial_s),
        f"{refresh.least_interval_s / 60:g}",
        f"{outline.width_mm:g} × {outline.height_mm:g} × {outline.thickness_mm:g}",
    )


def _seconds(value_s: float | None) -> str:
    return "–" if value_s is None else f"{value_s:g}"


def in_full(panel: Panel) -> str:
    """Every figure of a panel with its source."""
    rows = list(_figures(panel))
    inks = [
        (f"ink {number} {ink.name}", _colour(ink), panel.sources.get(f"ink.{ink.name}.lab", ""))
        for number, ink in enumerate(panel.inks)
    ]
    rows += inks
    widths = [max(len(row[column]) for row in rows) for column in (0, 1)]
    lines = [
        f"{name.ljust(widths[0])}  {value.ljust(widths[1])}  {source}".rstrip()
        for name, value, source in rows
    ]
    return "\n".join([panel.name, "", *lines])


def _figures(panel: Panel) -> Iterator[tuple[str, str, str]]:
    """Name, value and source of every figure but the inks."""
    refresh, outline, source = panel.refresh, panel.outline, panel.sources.get
    across, down = outline.active_offset_mm
    yield "pixels", f"{panel.width_px} × {panel.height_px}", source("pixels", "")
    yield "active area", f"{panel.active_width_mm:g} × {panel.active_height_mm:g} mm", source("active_mm", "")
    yield "diagonal", f"{panel.diagonal_in:.2f} inches", _RECKONED
    yield "pitch", f"{panel.pitch_mm:.4f} mm, {panel.pixels_per_inch:.1f} pixels per inch", _RECKONED
    yield "type", "smoothed with greys" if panel.tone == "greys" else "hard-edged", source("tone", "")
    for name, value_s in (("full", refresh.full_s), ("fast", refresh.fast_s), ("partial", refresh.partial_s)):
        words = "the panel cannot" if value_s is None else f"{value_s:g} s"
        yield f"{name} refresh", words, source(f"refresh.{name}_s", "")
    yield "least interval", _span(refresh.least_interval_s), source("refresh.least_interval_s", "")
    yield "longest rest", _span(refresh.longest_rest_s), source("refresh.longest_rest_s", "")
    yield (
        "outline",
        f"{outline.width_mm:g} × {outline.height_mm:g} × {outline.thickness_mm:g} mm",
        source("outline.size_mm", ""),
    )
    yield "active area from", f"{across:g} mm left, {down:g} mm top", source("outline.active_offset_mm", "")
    yield "tail leaves at", f"the {outline.tail}", source("outline.tail", "")
    if panel.climate:
        yield (
            "air",
            f"{panel.climate.lowest_c:g} to {panel.climate.highest_c:g} °C",
            source("climate.lowest_c", ""),
        )
    yield "Yule-Nielsen n", f"{panel.yule_nielsen_n:g}", source("yule_nielsen_n", "")


def _span(seconds_s: int) -> str:
    for unit, length_s in (("d", 86400), ("h", 3600), ("min", 60)):
        if seconds_s >= length_s and seconds_s % length_s == 0:
            return f"{seconds_s // length_s} {unit}"
    return f"{seconds_s} s"


def _code(ink: Ink) -> str:
    return "#{:02x}{:02x}{:02x}".format(*ink.css)


def _colour(ink: Ink) -> str:
    return f"{_code(ink)}  L* {ink.lab[0]:g}  a* {ink.lab[1]:g}  b* {ink.lab[2]:g}"


def plain(panel: Panel) -> Mapping[str, object]:
    """A panel as values for JSON; names end in their units, an absent refresh is null."""
    refresh, outline, climate = panel.refresh, panel.outline, panel.climate
    return {
        "name": panel.name,
        "width_px": panel.width_px,
        "height_px": panel.height_px,
        "active_width_mm": panel.active_width_mm,
        "active_height_mm": panel.active_height_mm,
        "diagonal_in": round(panel.diagonal_in, 3),
        "pitch_mm": round(panel.pitch_mm, 5),
        "pixels_per_inch": round(panel.pixels_per_inch, 2),
        "tone": str(panel.tone),
        "inks": [{"name": ink.name, "css": _code(ink), "lab": list(ink.lab)} for ink in panel.inks],
        "refresh": {
            "full_s": refresh.full_s,
            "fast_s": refresh.fast_s,
            "partial_s": refresh.partial_s,
            "least_interval_s": refresh.least_interval_s,
            "longest_rest_s": refresh.longest_rest_s,
        },
        "outline": {
            "width_mm": outline.width_mm,
            "height_mm": outline.height_mm,
            "thickness_mm": outline.thickness_mm,
            "active_offset_mm": list(outline.active_offset_mm),
            "tail": str(outline.tail),
        },
        "climate": climate and {"lowest_c": climate.lowest_c, "highest_c": climate.highest_c},
        "yule_nielsen_n": panel.yule_nielsen_n,
        "sources": dict(panel.sources),
    }
