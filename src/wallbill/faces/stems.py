"""Whole-pixel stems: which weight of a variable face to cut for one size.

On a panel of few inks a stem is one pixel wide, or two, or three. So the stem is chosen first, and the weight of
the face that has this stem by design is cut: then hinting moves the outline least, and every stem comes out equal.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from types import MappingProxyType

import numpy as np

from wallbill.faces.model import FaceAsk
from wallbill.faces.rasters import Hinting, Rasteriser
from wallbill.faces.shelf import FaceFile

_DENSE = MappingProxyType(
    {"\N{DEVANAGARI VOWEL SIGN AA}": 20, "\N{TAMIL LETTER PA}": 20, "\N{BENGALI VOWEL SIGN AA}": 1000}
)
"""Probes of scripts with many strokes in an em, and the size from which their letters bear a pixel more; measured."""

_PROBES = (
    "lI\N{ARABIC LETTER ALEF}\N{HEBREW LETTER VAV}\N{ARMENIAN SMALL LETTER LIWN}\N{GEORGIAN LETTER IN}"
    f"\N{THAI CHARACTER SARA AA}{''.join(_DENSE)}|1"
)
STEMS = "linmhu"
"""Letters whose stems show whether a size comes out even."""

_PROBE_PX = 400
_CURVE_STEPS = 9

_STURDY = 1.45
_STURDY_TO_PX = 20
_TRUE_FROM_PX = 30

_SHARES = (1.0, 0.75, 0.5, 0.0, -0.5, -1.0)
_REGULAR, _BOLD_FROM, _STURDY_BY_ITSELF, _LIGHT_TO = 400, 600, 700, 300
_STRETCH_PX = 0.35  # how far hinting may push the heaviest cut; further, and its counters fill in
_SLACK_PX, _BOLD_SLACK_PX = 0.3, 0.45
_HAIRLINE_SLACK_PX = 0.15  # below 0.85 px dots and thin strokes fall between the pixels


@dataclass(frozen=True, slots=True)
class Curve:
    """Stem width by weight, measured: ``stems_em`` in em, rising, at ``weights``. ``probe``: the character measured."""

    weights: tuple[float, ...]
    stems_em: tuple[float, ...]
    probe: str

    def stem_em(self, weight: float) -> float:
        """The stem of a weight, in em."""
        return float(np.interp(weight, self.weights, self.stems_em))

    def weight_of(self, stem_em: float) -> float:
        """The weight whose stem is nearest to a width in em."""
        return float(np.interp(stem_em, self.stems_em, self.weights))


@dataclass(frozen=True, slots=True)
class Cut:
    """How a face is cut for a size: design coordinates by axis, in the file's order, and the stem wanted.

    ``stem_px`` is None where the face has no weight axis, or no letter that shows its stem.
    """

    coordinates: tuple[float, ...]
    stem_px: int | None
    probe: str = ""


def run_px(row: Sequence[bool]) -> int:
    """The length of the first run of ink in a row."""
    length = 0
    for inked in row:
        if inked:
            length += 1
        elif length:
            break
    return length


def stem_px(raster: Rasteriser, probe: str, *, hinting: Hinting) -> int:
    """The stem of a character as drawn: the commonest first run of ink in the middle half of its rows."""
    ink = raster.draw(raster.glyph_of(probe), hinting).ink
    rows = ink[len(ink) // 4 : max(len(ink) * 3 // 4, 1)].tolist()
    runs = [run_px(row) for row in rows]
    return max(sorted(set(runs)), key=runs.count, default=0)


def smeared_from_px(probe: str) -> int:
    """The size from which letters of the probe's script may be smeared, so that their counters stay open."""
    return _DENSE.get(probe, 0)


def uneven_stems(raster: Rasteriser, hinting: Hinting) -> int:
    """How many stems of ``linmhu`` differ in width from the commonest one, at the size where ``raster`` stands."""
    widths = [width for character in STEMS for width in stem_widths_px(raster, character, hinting=hinting)]
    common = max(sorted(set(widths)), key=widths.count, default=0)
    return sum(width != common for width in widths)


def stem_widths_px(raster: Rasteriser, character: str, *, hinting: Hinting) -> list[int]:
    """The widths of the runs of ink in the row a quarter of the way up from the foot of a letter."""
    glyph = raster.glyph_of(character)
    ink = raster.draw(glyph, hinting).ink if glyph else None
    if ink is None or not ink.size:
        return []
    row = ink[len(ink) - 1 - len(ink) // 4].tolist()
    runs = []
    while any(row):
        row = row[row.index(True) :]
        runs.append(run_px(row))
        row = row[runs[-1] :]
    return runs


def coordinates(face: FaceFile, size_px: int, *, weight: float) -> tuple[float, ...]:
    """Design coordinates for a size and weight: optical size follows the pixel size, as CSS has it."""
    pinned = dict(face.pinned)
    wanted = {"wght": weight, "opsz": float(size_px), **pinned}
    return tuple(axis.nearest(wanted.get(axis.tag, axis.usual)) for axis in face.axes)


def measure(face: FaceFile, raster: Rasteriser, *, size_px: int) -> Curve | None:
    """The stem curve of a variable face at the optical size of ``size_px``; None where there is nothing to measure."""
    axis = face.axis("wght")
    probe = next((c for c in _PROBES if ord(c) in face.coverage), "")
    if axis is None or not probe:
        return None
    weights = tuple(float(w) for w in np.linspace(axis.least, axis.most, _CURVE_STEPS))
    stems = []
    for weight in weights:
        raster.place(_PROBE_PX, coordinates(face, size_px, weight=weight))
        stems.append(stem_px(raster, probe, hinting=Hinting.NONE) / _PROBE_PX)
    rising = tuple(float(stem) for stem in np.maximum.accumulate(stems))
    return Curve(weights, rising, probe) if rising[0] > 0 else None


def sturdiness(size_px: int, *, weight: float) -> float:
    """How much heavier than drawn a stem is wanted: 1.45 to 20 px, falling to 1 at 30 px.

    Weights over 400 need less, and from 700 nothing.

    Small type reads better sturdy: measured on bi-level pages, stems of 2 px at 14 and 16 px beat 1 px by one to two
    points of recognised characters, and 3 px beat 2 px at 20 px by one. Large type keeps the weight that was asked.
    """
    large = (size_px - _STURDY_TO_PX) / (_TRUE_FROM_PX - _STURDY_TO_PX)
    bold = (weight - _REGULAR) / (_STURDY_BY_ITSELF - _REGULAR)
    return 1 + (_STURDY - 1) * (1 - min(max(large, 0.0), 1.0)) * (1 - min(max(bold, 0.0), 1.0))


@dataclass(frozen=True, slots=True)
class Host:
    """How the face is cut that most of a text is set in, for those that lend it letters of other scripts.

    ``stem_px``: its stems, None where it shows none. ``weight``: of its design space, None for a bitmap.
    """

    stem_px: int | None = None
    weight: float | None = None


ALONE = Host()
"""For a face that lends to no other."""


def wanted_stem_px(curve: Curve, size_px: int, *, weight: float) -> int:
    """The whole-pixel stem for a weight asked: at least 1, never more than the heaviest cut has.

    A bold (600 and up) is at least one pixel sturdier than a regular where the face goes that far, a light (300 and
    below) one pixel lighter where there is one to take. Where the heaviest cut is no sturdier than a sturdy regular,
    the regular gives way and keeps the stem that it is drawn with.
    """
    most = _heaviest_px(curve, size_px)

    def stem(of: float, *, sturdy: bool) -> int:
        share = sturdiness(size_px, weight=of) if sturdy else 1.0
        return min(most, max(1, math.floor(curve.stem_em(of) * size_px * share + 0.5)))

    room = most > stem(_REGULAR, sturdy=True)
    regular, asked = stem(_REGULAR, sturdy=room), stem(weight, sturdy=room)
    if weight >= _BOLD_FROM:
        return min(most, max(asked, regular + 1))
    if weight <= _LIGHT_TO:
        return max(1, min(asked, regular - 1))
    return asked


def _heaviest_px(curve: Curve, size_px: int) -> int:
    """The widest stem that the heaviest cut has, or may be pushed to."""
    return max(1, math.floor(curve.stems_em[-1] * size_px + _STRETCH_PX))


def _best_cut(
    face: FaceFile,
    raster: Rasteriser,
    ask: FaceAsk,
    *,
    weights: Sequence[float],
    wanted: tuple[int, str, Hinting],
) -> tuple[bool, tuple[float, ...]]:
    """Of some weights the first, or best, that draws the stem wanted and all stems alike.

    Also whether even there an ``m`` has no room for its three stems.
    """
    target, probe, hinting = wanted
    tried = []
    for weight in weights:
        placed = coordinates(face, ask.size_px, weight=weight)
        raster.place(ask.size_px, placed)
        crowded = len(stem_widths_px(raster, "m", hinting=hinting)) not in {0, 3}
        off_px = abs(stem_px(raster, probe, hinting=hinting) - target)
        tried.append((crowded, off_px, uneven_stems(raster, hinting), placed))
        if tried[-1][:3] == (False, 0, 0):
            break
    best = min(tried, key=lambda entry: entry[:3])
    return best[0], best[3]


def cut(
    face: FaceFile, raster: Rasteriser, ask: FaceAsk, *, measured: tuple[Curve, Hinting], host: Host
) -> Cut:
    """The cut of a variable face for a size and the weight asked. ``raster`` may hold a small copy of the face.

    ``measured``: its stem curve and better hinting. A face that lends letters gets the stems of its ``host``, as far as
    it has any so heavy.

    Of all weights whose own stem is within 0.3 px of the whole-pixel one, the nearest to the weight asked; the
    heaviest of them for a bold that could get no sturdier stem than the regular has. Where an ``m`` has no room for
    three such stems, which happens in fixed pitches, the next thinner stem is taken.
    """
    size_px, weight, (curve, hinting) = ask.size_px, ask.weight, measured
    chosen = coordinates(face, size_px, weight=weight)
    target = 1
    wanted = wanted_stem_px(curve, size_px, weight=weight)
    lacking = False
    if host.stem_px is not None:
        wanted = min(host.stem_px, _heaviest_px(curve, size_px))
        lacking = wanted < host.stem_px
    matched = weight >= _BOLD_FROM and (lacking or wanted == wanted_stem_px(curve, size_px, weight=_REGULAR))
    for target in range(wanted, 0, -1):
        lean_px = _SLACK_PX if target > 1 else _HAIRLINE_SLACK_PX
        off_px = curve.stem_em(weight) * size_px - target
        slack_px = _BOLD_SLACK_PX if matched else min(max(off_px, -lean_px), _SLACK_PX)
        stems = [(target + share * slack_px) / size_px for share in _SHARES]
        weights = dict.fromkeys(curve.weight_of(stem) for stem in stems)
        faults, chosen = _best_cut(
            face, raster, ask, weights=tuple(weights), wanted=(target, curve.probe, hinting)
        )
        if not faults:
            break
    return Cut(chosen, target, curve.probe)
