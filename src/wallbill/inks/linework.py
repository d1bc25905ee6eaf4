"""Line work: smoothed edges, thin strokes and hairlines, each pixel settled on one colour of its surroundings.

A soft pixel between two flat colours is an edge and goes to the nearer of the two, never to a third. One with
the same ground on both sides belongs to a thin stroke. What is neither, as in a gradient, is left alone.
"""

from dataclasses import dataclass

import numpy as np

from wallbill.inks import tints
from wallbill.inks.colour import Floats, codes_to_linear
from wallbill.inks.halfstep import Reading, undo
from wallbill.inks.impression import Mask
from wallbill.inks.inkset import InkSet
from wallbill.inks.packed import NONE, Packed, fit_between, parts, unpack
from wallbill.inks.runs import Places, Runs, Soft, per_run, soft_runs
from wallbill.inks.strays import gather

WIDEST_PX = 3  # a smoothed edge or a thin stroke is no wider; a wider run is a gradient
_LONGEST_PX = 64  # runs of half tones beyond this are not looked into
_OFF = 10.0  # sRGB codes that a smoothed colour may lie off the straight line between its two sides
_HALF = 0.025  # shares this near to a half count as half, and go to the darker side
_LEAST = 0.3  # share at which the ridge of a smoothed thin stroke is kept though it is nearer to its ground
_SOLID, _DOTTED, _NOTHING = 0.5, 0.25, 0.02  # hairline's share of ink: solid; every other; third; none below


@dataclass(frozen=True, slots=True, eq=False)
class Settled:
    """``pixels``: packed colours (height, width), every edge settled.

    ``hairlines``: how many pixels belong to thin line work whose colour is no ink.
    """

    pixels: Packed
    hairlines: int = 0


@dataclass(frozen=True, slots=True, eq=False)
class Palette:
    """The inks as line work needs them: the ink set, and the packed CSS colours of its inks."""

    inks: InkSet
    colours: Packed


@dataclass(frozen=True, slots=True, eq=False)
class _Way:
    """Soft pixels along one direction: their runs, how they read, and what each may be."""

    runs: Runs
    reading: Reading
    crossed: Mask
    even: Mask

    @property
    def slim(self) -> Mask:
        """Pixels of a narrow strip with one ground on both sides."""
        slim: Mask = ~self.crossed & (self.runs.length <= WIDEST_PX) & (self.runs.before != NONE)
        return slim

    def edge(self, cross: "_Way") -> Mask:
        """Pixels of an edge: between two colours, and not a slim line that only runs up to another colour."""
        steep = (self.runs.length == 1) | ~self.even | ~cross.slim
        edge: Mask = self.crossed & self.reading.sound & (self.runs.length <= WIDEST_PX) & steep
        return edge


def settle(pixels: Packed, fixed: Mask, *, skip: Mask | None, palette: Palette) -> Settled:
    """Gives every soft pixel that is line work a colour of its surroundings.

    ``pixels``: packed (height, width). ``fixed``: pixels of an ink or of a flat colour. ``skip``: pixels of
    pictures, which are neither soft nor a side of an edge.
    """
    if skip is not None:
        fixed = fixed & ~skip
    soft_mask = ~fixed if skip is None else ~(fixed | skip)
    ground = np.where(fixed, pixels, np.uint32(NONE))
    soft = soft_runs(soft_mask, ground)
    if not len(soft.x_px):
        return Settled(pixels)
    own = pixels[soft.y_px, soft.x_px]
    across, down = (_way(runs, own, palette) for runs in (soft.across, soft.down))
    taken = own.copy()
    sure = across.edge(down) | down.edge(across) | _joins(own, soft)
    thin = _thin(taken, ~sure, (soft, across, down), palette)
    _edges(taken, across, down)
    found, colours = undo(soft, across.reading, down.reading, settled=ground)
    np.copyto(taken, colours, where=found)
    sure |= thin | found
    result = np.where(fixed, pixels, np.uint32(NONE))
    result[soft.y_px[sure], soft.x_px[sure]] = taken[sure]
    left = np.flatnonzero(~sure)
    gather(result, (soft.y_px[left], soft.x_px[left]), own=own[left])
    np.copyto(result, pixels, where=result == NONE)
    return Settled(result, int(np.count_nonzero(thin & ~found)))


def _joins(own: Packed, soft: Soft) -> Mask:
    """Soft pixels whose colour is that of a flat at the end of one of their runs: they belong to it."""
    joined = np.zeros(len(own), dtype=np.bool_)
    for runs in (soft.across, soft.down):
        joined |= (own == runs.before) | (own == runs.after)
    return joined


def _way(runs: Runs, own: Packed, palette: Palette) -> _Way:
    """Reads soft pixels along one direction."""
    crossed = (runs.before != runs.after) & (runs.before != NONE)
    lined = own[runs.order]
    heads = np.flatnonzero(runs.position[runs.order] == 0)
    uneven = np.empty(len(own), dtype=np.bool_)
    uneven[runs.order] = lined != lined[heads][runs.number[runs.order]]
    other = runs.after.copy()
    share, off = np.zeros(len(own)), np.full(len(own), np.inf)
    near = np.flatnonzero(crossed & (runs.length <= _LONGEST_PX))
    share[near], off[near] = fit_between(
        *(parts(colours[near]).astype(np.float64) for colours in (own, runs.before, runs.after))
    )
    same = np.flatnonzero(~crossed & (runs.length <= _LONGEST_PX) & (runs.before != NONE))
    if len(same):
        found = _towards_an_ink(own[same], runs.before[same], palette.colours)
        other[same], share[same], off[same] = found
    sound = (off <= _OFF) & (share > -0.04) & (share < 1.04) & (other != runs.before)
    return _Way(runs, Reading(runs.before, other, share, sound), crossed, ~per_run(runs, uneven))


def _towards_an_ink(own: Packed, ground: Packed, inks: Packed) -> tuple[Packed, Floats, Floats]:
    """The ink that each colour (n,) lies towards, seen from its ground; the ink's share; how far off it lies.

    Of inks that fit equally the one that is nearest to the ground's far side wins: the largest share.
    """
    points, start = parts(own).astype(np.float64), parts(ground).astype(np.float64)
    best = np.full(len(own), np.inf)
    other, share = ground.copy(), np.zeros(len(own))
    for ink, end in zip(inks, parts(inks).astype(np.float64), strict=True):
        part, off = fit_between(points, start, end[np.newaxis])
        better = (off < best - 0.5) & (part > 0) & (part < 1.04) & (ground != ink)
        np.copyto(best, off, where=better)
        np.copyto(share, part, where=better)
        np.copyto(other, ink, where=better)
    return other, share, best


def _edges(taken: Packed, across: _Way, down: _Way) -> None:
    """Settles the edges: along the shorter of both runs, on the nearer side; half tones on the darker."""
    sideways, downwards = across.edge(down), down.edge(across)
    along = sideways & (~downwards | (across.runs.length <= down.runs.length))
    for way, where in ((across, along), (down, downwards & ~along)):
        chosen = np.flatnonzero(where)
        ground, other = way.reading.ground[chosen], way.reading.other[chosen]
        share = way.reading.share[chosen]
        dark = _weight(other) < _weight(ground)
        nearer = np.where(np.abs(share - 0.5) <= _HALF, dark, share > 0.5)
        taken[chosen] = np.where(nearer, other, ground)


def _weight(colours: Packed) -> Floats:
    """A plain sum by which two colours are told lighter and darker: Rec. 601 luma of the codes."""
    weights: Floats = unpack(colours) @ np.array((0.299, 0.587, 0.114))
    return weights


def _thin(taken: Packed, loose: Mask, ways: tuple[Soft, _Way, _Way], palette: Palette) -> Mask:
    """Settles thin strokes and hairlines; returns which pixels those are."""
    soft, across, down = ways
    narrow_across, narrow_down = _narrow(across, down), _narrow(down, across)
    along = narrow_across & (~narrow_down | (across.runs.length <= down.runs.length))
    thin = np.zeros(len(taken), dtype=np.bool_)
    for way, cross, where in ((across, down, along), (down, across, narrow_down & ~along)):
        mine = loose & where
        single, strip = way.runs.length == 1, cross.even & (cross.runs.length > 1)
        stroke = mine & ~single & way.reading.sound & ~(way.even & strip)
        _strokes(taken, stroke, way)
        line = np.flatnonzero(mine & (single | (way.reading.sound & way.even & strip)))
        if len(line):
            _hairlines(taken, line, (way, strip), (soft, palette))
        thin |= stroke
        thin[line] = True
    return thin


def _narrow(way: _Way, cross: _Way) -> Mask:
    """Pixels of a thin strip across ``way``: one ground on both sides, or two that its colour lies not between."""
    between = way.crossed & (way.reading.sound | ~cross.even | (cross.runs.length < WIDEST_PX))
    narrow: Mask = (way.runs.length <= WIDEST_PX) & (way.runs.before != NONE) & ~between
    return narrow


def _strokes(taken: Packed, stroke: Mask, way: _Way) -> None:
    """Settles smoothed thin strokes: nearer side, but of a run that would vanish the strongest stays."""
    share = np.where(stroke, way.reading.share, 0.0)[way.runs.order]
    heads = np.flatnonzero(way.runs.position[way.runs.order] == 0)
    number = way.runs.number[way.runs.order]
    most, total = np.maximum.reduceat(share, heads)[number], np.add.reduceat(share, heads)[number]
    kept = np.empty(len(taken), dtype=np.bool_)
    kept[way.runs.order] = (share >= 0.5) | ((most < 0.5) & (share == most) & (total >= _LEAST))
    colours = np.where(kept, way.reading.other, way.reading.ground)
    np.copyto(taken, colours, where=stroke)


def _hairlines(taken: Packed, line: Places, how: tuple[_Way, Mask], which: tuple[Soft, Palette]) -> None:
    """Settles thin lines of one colour: solid where the colour is mostly ink, else dotted; never gone.

    ``line``: the pixels. ``how``: their direction, and which pixels go on as a strip the other way.
    """
    way, strip = how[0], how[1][line]
    soft, palette = which
    ground = way.runs.before[line]
    beat = soft.x_px[line] + soft.y_px[line]
    ink, amount = _inks_of_lines(taken[line], way, (line, beat), palette)
    every = np.where(amount >= _SOLID, 1, np.where(amount >= _DOTTED, 2, 3))
    every = np.where(strip, every, 1)
    shown = (beat % every == 0) & (amount >= np.where(strip, _NOTHING, _DOTTED))
    wide = (way.runs.length[line] > 1) & (amount < _SOLID)
    taken[line] = np.where(wide, taken[line], np.where(shown, ink, ground))


def _inks_of_lines(
    own: Packed, way: _Way, where: tuple[Places, Places], palette: Palette
) -> tuple[Packed, Floats]:
    """The ink (n,), packed, that a thin line of colour ``own`` (n,) is drawn in, and its share beside the ground.

    ``where``: the pixels, and their beat: a colour of two inks that are both no ground takes them in turn.
    """
    line, beat = where
    reading = way.reading
    ink = reading.other[line].copy()
    start, end = codes_to_linear(unpack(reading.ground[line])), codes_to_linear(unpack(ink))
    amount, _ = fit_between(codes_to_linear(unpack(own)), start, end)
    odd = np.flatnonzero(~reading.sound[line] | way.crossed[line])
    if not len(odd):
        return ink, amount
    ends = (way.runs.before[line][odd], way.runs.after[line][odd])
    mine, before, after = np.split(_shares(np.concatenate((own[odd], *ends)), palette.inks), 3)
    gain = mine - np.maximum(before, after)
    rows = np.arange(len(odd))
    first = gain.argmax(axis=1)
    most = gain[rows, first]
    gain[rows, first] = -1
    second = gain.argmax(axis=1)
    extra = gain[rows, second]
    mixed = extra * 3 >= most
    amount[odd] = most + np.where(mixed, extra, 0)
    ink[odd] = palette.colours[np.where(mixed & (beat[odd] // 2 % 2 == 1), second, first)]
    return ink, amount


def _shares(colours: Packed, inks: InkSet) -> Floats:
    """Share of each ink (n, inks) in packed colours (n,), worked out once for each different colour."""
    different, place = np.unique(colours, return_inverse=True)
    return tints.shares_of(np.ascontiguousarray(unpack(different)), inks)[place]
