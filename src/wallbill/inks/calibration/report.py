"""Predicted against measured: as a table in words, as values, and as a picture."""

from collections.abc import Iterator
from typing import Any

import numpy as np
from PIL import Image

from wallbill.inks import colour
from wallbill.inks.calibration.fit import Compared, Fit
from wallbill.inks.calibration.layout import Lettering
from wallbill.inks.impression import Rgb
from wallbill.inks.proof import PAPER

_SIZE_PX, _ROW_PX, _MARGIN_PX = 13, 24, 24
_SWATCH_PX, _L_PX = 72, 12  # width of a swatch; of one L* in the bars
_GAP_PX = 16
_MOST_L = 10.0
_GROUND, _INK, _FAINT = (255, 255, 255), (40, 40, 44), (205, 205, 205)
_BEFORE, _AFTER = (176, 176, 180), (28, 92, 140)


def table(fit: Fit) -> Iterator[str]:
    """Lines that tell the fit, patch by patch: L* measured and predicted, CIEDE2000, before and after."""
    width = max((len(one.name) for one in fit.patches), default=5)
    has_colour = any(one.has_colour for one in fit.patches)
    tail = "     dE00 before   after" if has_colour else ""
    yield f"{'patch':{width}}  measured    before     after{tail}"
    yield f"{'':{width}}        L*        L*        L*"
    for one in fit.patches:
        line = f"{one.name:{width}}  {one.measured[0]:8.1f}  {one.before[0]:8.1f}  {one.after[0]:8.1f}"
        if one.has_colour:
            line += f"          {one.difference(one.before):7.1f} {one.difference(one.after):7.1f}"
        yield line
    yield ""
    yield from summary(fit)


def summary(fit: Fit) -> Iterator[str]:
    """What was found, in a few lines."""
    for name, (lightness, a, b) in fit.inks.items():
        yield f"{name}: L* {lightness:.1f}  a* {a:.1f}  b* {b:.1f}"
    if fit.n is not None:
        parts = [
            f"{word} alone {n:.2f}"
            for word, n in (("fine dots", fit.n_fine), ("clusters", fit.n_cluster))
            if n
        ]
        yield f"Yule-Nielsen n: {fit.n:.2f}" + (f" ({', '.join(parts)})" if parts else "")
    if fit.edge_px is not None:
        yield f"edges stand {abs(fit.edge_px):.3f} pixels {'outside' if fit.edge_px >= 0 else 'inside'} of their dots"
    if fit.ghost is not None:
        yield f"ghosts: up to {fit.ghost:.1f} L* is left of what stood there before"
    if fit.patches:
        yield f"L* off on average: {fit.residual(before=True):.1f} before, {fit.residual():.1f} after"
    yield from (f"note: {note}" for note in fit.notes)


def plain(fit: Fit) -> dict[str, Any]:
    """The fit as values for JSON."""
    return {
        "inks": {name: list(lab) for name, lab in fit.inks.items()},
        "yule_nielsen_n": fit.n,
        "n_fine": fit.n_fine,
        "n_cluster": fit.n_cluster,
        "edge_px": fit.edge_px,
        "ghost_l": fit.ghost,
        "mean_l_before": round(fit.residual(before=True), 3),
        "mean_l_after": round(fit.residual(), 3),
        "patches": [_plain(one) for one in fit.patches],
        "notes": list(fit.notes),
    }


def _plain(one: Compared) -> dict[str, Any]:
    labs = {"measured": one.measured, "before": one.before, "after": one.after}
    found: dict[str, Any] = {key: [round(part, 2) for part in lab] for key, lab in labs.items()}
    if one.has_colour:
        found |= {f"de00_{key}": round(one.difference(labs[key]), 2) for key in ("before", "after")}
    return {"name": one.name, "has_colour": one.has_colour, **found}


def picture(fit: Fit, lettering: Lettering, *, title: str) -> Image.Image:
    """Each patch on a line: the measured colour between the two predicted ones, and how far off L* is, in bars.

    Colours are a proof's: beside paper that is the screen's white. Grey bars are the profile's before, blue ones the
    fitted one's.
    """
    return _Page(fit, lettering, title).drawn()


class _Page:
    """The picture of one fit while it is drawn."""

    def __init__(self, fit: Fit, lettering: Lettering, title: str) -> None:
        self._fit = fit
        self._title = title
        self._lettering = lettering
        names = [lettering(one.name, size_px=_SIZE_PX).shape[1] for one in fit.patches] or [60]
        self._swatches = _MARGIN_PX + max(names) + _GAP_PX
        self._bars = self._swatches + 3 * _SWATCH_PX + 2 * _GAP_PX
        self._middle = self._bars + round(_MOST_L * _L_PX)
        width = self._middle + round(_MOST_L * _L_PX) + 2 * _GAP_PX + 100 + _MARGIN_PX
        height = 2 * _MARGIN_PX + (len(fit.patches) + 3) * _ROW_PX
        self._pixels: Rgb = np.full((height, width, 3), _GROUND, dtype=np.uint8)

    def drawn(self) -> Image.Image:
        """The whole picture."""
        y = _MARGIN_PX
        self._head(y)
        y += 2 * _ROW_PX
        bottom = y + len(self._fit.patches) * _ROW_PX
        for step in range(-int(_MOST_L), int(_MOST_L) + 1, 2):
            x = self._middle + step * _L_PX
            self._pixels[y:bottom, x] = _INK if step == 0 else _FAINT
            self._set(f"{step:+d}" if step else "0", x, y - _ROW_PX, side=0)
        for one in self._fit.patches:
            self._row(one, y)
            y += _ROW_PX
        self._foot(y + _ROW_PX // 2)
        return Image.fromarray(self._pixels)

    def _head(self, y: int) -> None:
        self._set(self._title, _MARGIN_PX, y, side=-1)
        for at, word in enumerate(("before", "measured", "after")):
            self._set(word, self._swatches + at * _SWATCH_PX + _SWATCH_PX // 2, y + _ROW_PX, side=0)
        self._set("L* predicted less measured", self._middle, y, side=0)
        right = self._pixels.shape[1] - _MARGIN_PX
        self._set("dE00", right - 36, y, side=0)
        self._set("before", right - 54, y + _ROW_PX, side=1)
        self._set("after", right, y + _ROW_PX, side=1)

    def _row(self, one: Compared, y: int) -> None:
        self._set(one.name, _MARGIN_PX, y, side=-1)
        for at, lab in enumerate((one.before, one.measured, one.after)):
            left = self._swatches + at * _SWATCH_PX
            self._pixels[y + 1 : y + _ROW_PX - 1, left : left + _SWATCH_PX] = _screen(lab)
        for top, lab, ink in ((y + 5, one.before, _BEFORE), (y + 13, one.after, _AFTER)):
            off = float(np.clip(one.off(lab), -_MOST_L, _MOST_L))
            left, right = sorted((self._middle, self._middle + round(off * _L_PX)))
            self._pixels[top : top + 6, left : right + 1] = ink
        if one.has_colour:
            right = self._pixels.shape[1] - _MARGIN_PX
            self._set(f"{one.difference(one.before):.1f}", right - 54, y, side=1)
            self._set(f"{one.difference(one.after):.1f}", right, y, side=1)

    def _foot(self, y: int) -> None:
        fit = self._fit
        n = f"n {fit.n:.2f} · " if fit.n is not None else ""
        self._set(
            f"{n}L* off on average: {fit.residual(before=True):.1f} before, {fit.residual():.1f} after",
            _MARGIN_PX,
            y,
            side=-1,
        )

    def _set(self, text: str, x: int, y: int, *, side: int) -> None:
        """A text in a row whose top is ``y``: from ``x`` on (-1), around it (0), or up to it (1)."""
        line = self._lettering(text, size_px=_SIZE_PX)
        left = x - (line.shape[1] * (side + 1)) // 2
        top = y + (_ROW_PX - line.shape[0]) // 2
        part = self._pixels[top : top + line.shape[0], left : left + line.shape[1]]
        part[line[: part.shape[0], : part.shape[1]]] = _INK


def _screen(lab: tuple[float, float, float]) -> Rgb:
    """A colour as a proof shows it: sRGB codes (3,)."""
    xyz = colour.adapt(colour.lab_to_xyz(lab, white=colour.D50), source=colour.D50, target=colour.D65)
    return colour.linear_to_codes(np.clip(colour.xyz_to_linear(xyz / PAPER), 0, 1))
