"""Makes examples/fennel-quay/pictures/harbour.jpg: a harbour that was never there, in the tones of a photograph.

    python scripts/make_photograph.py examples/fennel-quay/pictures/harbour.jpg

The picture is computed, from formulas and a fixed seed, so that the demo has a photograph to dither and nobody's
rights are touched. Light is linear until the last step. Lengths are in pixels of the finished picture unless a name
says metres; the camera stands 3.5 m above the water and looks out to sea at dawn.
"""

import argparse
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from PIL import Image

Reals = NDArray[np.float64]
Colour = tuple[float, float, float]

WIDTH, HEIGHT, FINER = 1000, 750, 2
HORIZON = 330.0
FOCAL = 900.0
EYE_M = 3.5
SUN = (318.0, 268.0)
SEED = 1907

HAZE: Colour = (1.02, 0.80, 0.62)


@dataclass
class Layer:
    """Something that stands in the water: linear light (h, w, 3), cover (h, w), and its waterline by column.

    ``within``: what lies behind it and is seen from above only, so that the water does not show it.
    """

    light: Reals
    cover: Reals
    waterline: Reals
    within: "Layer | None" = None


class Noise:
    """Perlin's gradient noise on a wrapping lattice, and sums of its octaves."""

    def __init__(self, seed: int) -> None:
        rng = np.random.default_rng(seed)
        angle = rng.uniform(0, 2 * np.pi, (256, 256))
        self.gx, self.gy = np.cos(angle), np.sin(angle)

    def at(self, u: Reals, v: Reals) -> Reals:
        """Noise of about -0.7 to 0.7 at each point."""
        iu, iv = np.floor(u).astype(int), np.floor(v).astype(int)
        fu, fv = u - iu, v - iv
        su, sv = fu**3 * (fu * (6 * fu - 15) + 10), fv**3 * (fv * (6 * fv - 15) + 10)

        def corner(du: int, dv: int) -> Reals:
            a, b = (iv + dv) & 255, (iu + du) & 255
            return np.asarray(self.gx[a, b] * (fu - du) + self.gy[a, b] * (fv - dv))

        low = corner(0, 0) + su * (corner(1, 0) - corner(0, 0))
        high = corner(0, 1) + su * (corner(1, 1) - corner(0, 1))
        return np.asarray(low + sv * (high - low))

    def octaves(self, u: Reals, v: Reals, count: int, *, fall: float = 0.5) -> Reals:
        """Octaves of noise, each twice as fine and ``fall`` times as strong; about -1 to 1."""
        total, strength = np.zeros(np.broadcast(u, v).shape), 1.0
        for octave in range(count):
            total += strength * self.at(u * 2.0**octave + 17.3 * octave, v * 2.0**octave + 9.1 * octave)
            strength *= fall
        return total * 1.4


def smooth(low: float, high: float, value: Reals) -> Reals:
    """0 below ``low``, 1 above ``high``, and a smooth step between."""
    share = np.clip((value - low) / (high - low), 0, 1)
    return np.asarray(share * share * (3 - 2 * share))


def mix(one: Reals | Colour, other: Reals | Colour, share: Reals) -> Reals:
    """``share`` of the other in the one."""
    a, b = np.asarray(one), np.asarray(other)
    return np.asarray(a + (b - a) * share[..., np.newaxis])


def sky(x: Reals, y: Reals, noise: Noise) -> Reals:
    """Light of the sky, clouds and sun."""
    up = np.maximum(HORIZON - y, 0) / FOCAL
    aside = (x - SUN[0]) / FOCAL
    off = np.hypot(aside, (y - SUN[1]) / FOCAL * 1.15)
    light = mix((1.0, 0.74, 0.52), (0.60, 0.63, 0.68), smooth(0.0, 0.17, up))
    light = mix(light, (0.24, 0.33, 0.48), smooth(0.12, 0.42, up))
    glow = 1.5 * np.exp(-((off / 0.055) ** 1.1)) + 0.8 * np.exp(-off / 0.16)
    light += glow[..., np.newaxis] * np.array([1.0, 0.68, 0.38])
    far = 1 / (up + 0.055)
    u, v = (x - 500) / FOCAL * far * 0.9 + 3.7, far * 1.25
    thick = noise.octaves(u, v, 6, fall=0.55)
    towards = noise.octaves(u - aside * 0.5, v + 0.22, 4, fall=0.55)
    body = smooth(-0.12, 0.62, thick) * smooth(0.0, 0.06, up)
    lit = np.exp(-2.4 * smooth(-0.2, 0.8, towards)) * (0.45 + 1.1 * np.exp(-off / 0.22))
    dark = mix((0.42, 0.38, 0.42), (0.22, 0.26, 0.34), smooth(0.03, 0.36, up))
    cloud = dark + lit[..., np.newaxis] * np.array([1.25, 0.92, 0.68])
    light = mix(light, cloud, body * 0.92)
    disc = smooth(0.0135, 0.0115, off) * (1 - 0.55 * body)
    return np.asarray(light + disc[..., np.newaxis] * np.array([26.0, 19.0, 11.0]))


def headlands(light: Reals, x: Reals, y: Reals, noise: Noise) -> Reals:
    """Ridges of land, paler the further off, each with mist at its foot."""
    ridges = (
        (26.0, 20.0, 0.0042, 0.66, 5.0, lambda c: 1.0 - 0.0006 * c),
        (17.0, 24.0, 0.0060, 0.48, 23.0, lambda c: smooth(330, 1000, c) * 1.9 + 0.05),
        (10.0, 34.0, 0.0075, 0.30, 41.0, lambda c: smooth(420, 40, c) * 1.35),
        (3.0, 26.0, 0.0110, 0.16, 61.0, lambda c: smooth(250, 0, c) * 1.2),
    )
    columns = x[0]
    for base, tall, rate, mist, seed, shape in ridges:
        rise = noise.octaves(columns * rate + seed, np.full_like(columns, seed), 6, fall=0.52)
        crest = HORIZON - shape(columns) * (base + tall * np.maximum(0, 0.55 + rise))
        inside = smooth(-0.7, 0.7, y - crest[np.newaxis, :])
        grain = 1 + 0.28 * noise.octaves(x * 0.05 + seed, y * 0.11, 4)
        land = np.array([0.10, 0.115, 0.125]) * grain[..., np.newaxis]
        near_sun = np.exp(-np.abs(x - SUN[0]) / 240)
        air = mix((0.62, 0.58, 0.58), HAZE, near_sun)
        foot = smooth(-34, 2, y - HORIZON)
        light = mix(light, mix(land, air, np.clip(mist + 0.42 * foot, 0, 1)), inside)
    return light


def sampled(picture: Reals, x: Reals, y: Reals) -> Reals:
    """The picture at points, between its samples; points off the picture give its rim."""
    column = np.clip(x * FINER - 0.5, 0, picture.shape[1] - 1.001)
    row = np.clip(y * FINER - 0.5, 0, picture.shape[0] - 1.001)
    i, j = row.astype(int), column.astype(int)
    a, b = row - i, column - j
    if picture.ndim == 3:
        a, b = a[..., np.newaxis], b[..., np.newaxis]
    top = picture[i, j] * (1 - b) + picture[i, j + 1] * b
    return np.asarray(top * (1 - a) + picture[i + 1, j] * (1 - b) * a + picture[i + 1, j + 1] * b * a)


@dataclass
class Water:
    """Slopes of the water's surface across and along the view, and how much light it reflects."""

    across: Reals
    along: Reals
    mirror: Reals


def water(x: Reals, y: Reals, noise: Noise) -> Water:
    """Ripples by distance, and Schlick's approximation of Fresnel's law (Computer Graphics Forum 13(3), 1994)."""
    below = np.maximum(y - HORIZON, 0.25)
    far_m = EYE_M * FOCAL / below
    east_m = (x - 500) / FOCAL * far_m
    swell = noise.octaves(east_m * 0.22 + 0.1 * far_m, far_m * 0.55, 3)
    ripple = noise.octaves(east_m * 1.3 + 50, far_m * 3.1 + 0.35 * east_m, 4, fall=0.6)
    gust = smooth(-0.35, 0.5, noise.octaves(east_m * 0.05 + 11, far_m * 0.035, 3))
    along = 0.016 * swell + (0.009 + 0.034 * gust) * ripple
    across = 0.6 * (0.010 + 0.030 * gust) * noise.octaves(east_m * 1.6 + 90, far_m * 2.6, 3, fall=0.6)
    graze = np.clip(below / FOCAL + 0.9 * along, 0.002, 1)
    return Water(across, along, 0.02 + 0.98 * (1 - np.sin(np.arctan(graze))) ** 5)


def sea(land: Reals, x: Reals, y: Reals, surface: Water) -> Reals:
    """The sky and the headlands in the water, and the water's own dark."""
    mirrored = HORIZON - (y - HORIZON) - np.abs(surface.along) * FOCAL * 1.9 - 1
    seen = sampled(land, x + surface.across * FOCAL * 0.35, mirrored)
    own = np.array([0.030, 0.052, 0.060])
    light = mix(np.broadcast_to(own, seen.shape), seen, surface.mirror)
    air = smooth(60, 0, y - HORIZON) * 0.42
    near_sun = np.exp(-np.abs(x - SUN[0]) / 260)
    light = mix(light, mix((0.60, 0.56, 0.55), HAZE, near_sun), air)
    return np.where((y > HORIZON)[..., np.newaxis], light, land)


def polygon(x: Reals, y: Reals, corners: Sequence[tuple[float, float]]) -> Reals:
    """1 inside the corners, 0 outside."""
    inside = np.zeros(x.shape, dtype=bool)
    for (x0, y0), (x1, y1) in zip(corners, [*corners[1:], corners[0]], strict=True):
        if y0 == y1:
            continue
        crosses = (y >= min(y0, y1)) & (y < max(y0, y1))
        inside ^= crosses & (x < x0 + (y - y0) * (x1 - x0) / (y1 - y0))
    return inside.astype(float)


def bar(x: Reals, y: Reals, ends: tuple[float, float, float, float], wide: float) -> Reals:
    """1 within half of ``wide`` of the line between two points, 0 elsewhere, with a soft edge."""
    x0, y0, x1, y1 = ends
    along = np.clip(((x - x0) * (x1 - x0) + (y - y0) * (y1 - y0)) / ((x1 - x0) ** 2 + (y1 - y0) ** 2), 0, 1)
    away = np.hypot(x - x0 - along * (x1 - x0), y - y0 - along * (y1 - y0))
    return smooth(wide / 2 + 0.3, wide / 2 - 0.3, away)


def paint(layer: Layer, light: Reals | Colour, cover: Reals) -> None:
    """Lays light over a layer where ``cover`` is."""
    layer.light = mix(layer.light, light, cover)
    layer.cover = np.maximum(layer.cover, cover)


def blank(x: Reals, waterline: Reals | float) -> Layer:
    """A layer of nothing."""
    return Layer(
        np.zeros((*x.shape, 3)), np.zeros(x.shape), np.broadcast_to(np.asarray(waterline, float), x[0].shape)
    )


def placed(scene: Reals, layer: Layer, x: Reals, y: Reals, surface: Water) -> Reals:
    """The scene with the layer's reflection in the water, and the layer."""
    depth = y - layer.waterline[np.newaxis, :]
    stretch = np.maximum(depth, 0)
    from_y = layer.waterline[np.newaxis, :] - depth + surface.along * (26 + stretch * 3.4)
    from_x = x + surface.across * (10 + stretch * 2.2)
    cover = sampled(layer.cover, from_x, from_y) * (depth > 0)
    seen = sampled(layer.light, from_x, from_y)
    share = cover * np.clip(0.30 + 1.2 * surface.mirror, 0, 0.9)
    scene = mix(scene, seen * 0.9 + np.array([0.012, 0.020, 0.024]), share)
    if layer.within is not None:
        scene = mix(scene, layer.within.light, layer.within.cover)
    return mix(scene, layer.light, layer.cover)


def quay(x: Reals, y: Reals, noise: Noise) -> Layer:
    """A stone quay that runs away to the left, courses of blocks, weed at the waterline, bollards and a ladder."""
    scale = np.maximum((x - 419) / 581 * 66, 0.5)  # pixels in a metre on the quay's face
    line = HORIZON + EYE_M * scale
    layer = blank(x, line[0])
    high_m = (line - y) / scale
    far_m = FOCAL / scale
    beyond = smooth(559, 561, x)
    course = np.floor(high_m / 0.42)
    start = far_m / 1.05 + 0.5 * (course % 2) + 0.21 * np.sin(course * 12.9)
    block = np.floor(start)
    tone = 0.5 + 0.5 * np.sin(block * 78.233 + course * 37.719)
    joint_v = np.minimum(start - block, block + 1 - start) * 1.05 * scale
    joint_h = np.abs(high_m / 0.42 - np.round(high_m / 0.42)) * 0.42 * scale
    joint = smooth(0.25, 1.6, np.minimum(joint_v * scale / far_m * 0.35 + 0.4, joint_h))
    grain = noise.octaves(far_m * 3.0, high_m * 5.0, 5, fall=0.6)
    stone = (0.155 + 0.10 * tone + 0.075 * grain) * (0.42 + 0.58 * joint)
    warm = np.array([1.0, 0.86, 0.70])
    face = stone[..., np.newaxis] * warm
    weed = smooth(1.15, 0.55, high_m + 0.16 * noise.octaves(far_m * 1.2, high_m * 2 + 7, 4))
    face = mix(face, np.array([0.028, 0.036, 0.026]) * (1 + 0.9 * grain[..., np.newaxis]), weed * 0.93)
    face *= (1.15 - 0.45 * smooth(600, 1000, x))[..., np.newaxis]
    wall = (high_m >= 0) & (high_m <= 2.5)
    paint(layer, face, wall * beyond)
    top_y = HORIZON + scale * 1.0
    cap = smooth(-0.19, -0.17, -(high_m - 2.5) - 0.19) * (high_m > 2.28) * (high_m < 2.5)
    paint(
        layer,
        np.broadcast_to((0.44, 0.37, 0.30), face.shape) * (0.8 + 0.35 * grain[..., np.newaxis]),
        cap * beyond,
    )
    deck = (y < top_y) & (y > np.minimum(HORIZON + 13, top_y)) & (x > 561)
    gravel = 0.40 + 0.13 * noise.octaves(x * 0.3, y * 1.3, 4)
    paint(layer, gravel[..., np.newaxis] * np.array([1.0, 0.83, 0.66]), deck.astype(float))
    return layer


def on_quay(scale: float) -> tuple[float, float]:
    """The point on the quay's upper edge where a metre has ``scale`` pixels."""
    return 419 + scale / 66 * 581, HORIZON + scale


def hut(layer: Layer, x: Reals, y: Reals, noise: Noise) -> None:
    """The rowing hut: tarred boards, a pitched roof, doors, one lit window, oars against the wall."""
    near, far = 34.6, 24.0
    (edge, base), (edge_far, base_far) = on_quay(near), on_quay(far)
    left, right = edge + near, edge + 5.2 * near
    left_far, right_far = edge_far + far, edge_far + 5.2 * far
    eaves, eaves_far = base - 2.5 * near, base_far - 2.5 * far
    ridge = ((left + right) / 2, base - 4.5 * near)
    ridge_far = ((left_far + right_far) / 2, base_far - 4.5 * far)
    boards = 0.5 + 0.5 * np.sin(np.clip((y - eaves) / 4.6, -1e3, 1e3) * 2 * np.pi)
    grain = noise.octaves(x * 0.05, y * 0.9, 4)
    side_rows = (y - HORIZON) / np.maximum((x - 419) / 581 * 66, 1)
    side_boards = 0.5 + 0.5 * np.sin(side_rows * 2 * np.pi * 7.5)
    side = (0.30 + 0.07 * side_boards + 0.07 * grain)[..., np.newaxis] * np.array([1.0, 0.72, 0.50])
    paint(
        layer, side, polygon(x, y, [(left_far, base_far), (left, base), (left, eaves), (left_far, eaves_far)])
    )
    gable = (0.062 + 0.020 * boards + 0.018 * grain)[..., np.newaxis] * np.array([1.0, 0.95, 0.93])
    paint(layer, gable, polygon(x, y, [(left, base), (right, base), (right, eaves), ridge, (left, eaves)]))
    slates = 0.5 + 0.5 * np.sin((y + 0.12 * x) * 1.25)
    roof = (0.34 + 0.05 * slates + 0.09 * grain)[..., np.newaxis] * np.array([0.95, 0.80, 0.68])
    over = 0.25 * near
    paint(
        layer,
        roof,
        polygon(
            x,
            y,
            [
                (left_far - 4, eaves_far + 3),
                (left - 5, eaves + 5),
                (ridge[0] + 2, ridge[1] - 3),
                (ridge_far[0] - 3, ridge_far[1] - 2),
            ],
        ),
    )
    for x0, y0 in ((left - 5, eaves + 5), (right + 5, eaves + 5)):
        paint(layer, (0.16, 0.13, 0.11), bar(x, y, (x0, y0, ridge[0], ridge[1] - 3), 0.16 * over + 3.2))
    middle = (left + right) / 2
    paint(
        layer,
        (0.035, 0.033, 0.034),
        polygon(
            x,
            y,
            [(middle - 34, base), (middle + 22, base), (middle + 22, base - 74), (middle - 34, base - 74)],
        ),
    )
    paint(layer, (0.10, 0.09, 0.085), bar(x, y, (middle - 6, base, middle - 6, base - 74), 1.6))
    pane = polygon(
        x,
        y,
        [(right - 44, base - 38), (right - 16, base - 38), (right - 16, base - 66), (right - 44, base - 66)],
    )
    paint(layer, (1.75, 1.10, 0.48), pane)
    for ends in (
        (right - 30, base - 38, right - 30, base - 66),
        (right - 44, base - 52, right - 16, base - 52),
    ):
        paint(layer, (0.05, 0.045, 0.04), bar(x, y, ends, 2.0))
    for i in range(4):
        foot = left + 3 + i * 6.5
        paint(layer, (0.42, 0.33, 0.24), bar(x, y, (foot, base + 1, foot - 12 + i, eaves - 12 + 3 * i), 2.1))
        paint(
            layer,
            (0.55, 0.50, 0.44),
            bar(x, y, (foot - 10 + i, eaves + 2, foot - 12.5 + i, eaves - 15 + 3 * i), 4.0),
        )


def furniture(layer: Layer, x: Reals, y: Reals) -> None:
    """Bollards, a lamp, a ladder and fenders along the quay."""
    for scale in (18.0, 22.0, 30.0, 44.0, 60.0):
        at, top = on_quay(scale)
        at += 0.5 * scale
        paint(layer, (0.035, 0.033, 0.033), bar(x, y, (at, top, at, top - 0.42 * scale), 0.27 * scale))
        paint(
            layer,
            (0.30, 0.24, 0.19),
            bar(
                x,
                y,
                (at - 0.11 * scale, top - 0.06 * scale, at - 0.11 * scale, top - 0.4 * scale),
                0.05 * scale,
            ),
        )
        paint(
            layer,
            (0.045, 0.042, 0.042),
            bar(
                x,
                y,
                (at - 0.17 * scale, top - 0.45 * scale, at + 0.17 * scale, top - 0.45 * scale),
                0.12 * scale,
            ),
        )
    at, top = on_quay(20.0)
    paint(layer, (0.05, 0.048, 0.05), bar(x, y, (at + 6, top, at + 6, top - 84), 2.2))
    paint(layer, (0.05, 0.048, 0.05), bar(x, y, (at + 6, top - 84, at - 10, top - 88), 1.8))
    paint(layer, (0.30, 0.28, 0.27), bar(x, y, (at - 13, top - 87, at - 5, top - 88), 3.6))
    for side in (0.0, 0.42):
        scale = 50.0 - 1.6 * side
        at, top = on_quay(scale)
        at -= side * 26
        paint(layer, (0.04, 0.036, 0.034), bar(x, y, (at, top - 8, at, top + 2.3 * scale), 2.6))
    at, top = on_quay(50.0)
    for rung in range(9):
        level = top + 6 + rung * 12.2
        paint(layer, (0.05, 0.045, 0.042), bar(x, y, (at - 11, level - 0.8, at, level), 1.9))


def yacht(x: Reals, y: Reals, at: tuple[float, float], scale: float, *, turn: float) -> Layer:
    """A moored sailing boat seen from the side; ``turn``: 1 bow to the right, -1 to the left."""
    x0, y0 = at
    layer = blank(x, y0)

    def place(points: Sequence[tuple[float, float]]) -> list[tuple[float, float]]:
        return [(x0 + turn * a * scale, y0 - b * scale) for a, b in points]

    shade = np.clip((y0 - y) / scale, 0, 1.2)
    hull = mix((0.025, 0.028, 0.034), (0.15, 0.13, 0.125), smooth(0.2, 1.0, shade))
    paint(
        layer,
        hull,
        polygon(
            x,
            y,
            place([(-3.2, 0), (-3.5, 0.75), (-1.0, 0.72), (1.8, 0.85), (3.7, 1.15), (2.9, 0.25), (2.4, 0)]),
        ),
    )
    paint(
        layer, (0.46, 0.38, 0.31), polygon(x, y, place([(-1.6, 0.72), (-1.4, 1.25), (0.6, 1.3), (1.5, 0.86)]))
    )
    paint(
        layer,
        (0.03, 0.032, 0.036),
        polygon(x, y, place([(-1.1, 0.92), (-1.0, 1.12), (0.2, 1.14), (0.4, 0.95)])),
    )
    for (a, b), (c, d), wide in (
        ((0.4, 0.8), (0.4, 9.6), 0.13),
        ((0.4, 1.9), (-3.1, 1.75), 0.22),
        ((0.4, 9.5), (3.6, 1.15), 0.03),
        ((0.4, 9.5), (-3.4, 0.8), 0.03),
        ((-0.3, 6.2), (1.1, 6.2), 0.05),
        ((0.4, 9.5), (1.1, 6.2), 0.025),
        ((1.1, 6.2), (0.7, 1.0), 0.025),
        ((0.4, 9.5), (-0.3, 6.2), 0.025),
        ((-0.3, 6.2), (0.1, 1.0), 0.025),
    ):
        (p, q), (r, s) = place([(a, b), (c, d)])
        strength = min(1.0, wide * scale / 0.8)
        paint(layer, (0.07, 0.065, 0.065), bar(x, y, (p, q, r, s), max(0.8, wide * scale)) * strength)
    return layer


def skiff(x: Reals, y: Reals, at: tuple[float, float], scale: float, noise: Noise) -> Layer:
    """An open rowing boat, bow to the left, seen a little from above: strakes, thwarts, oars shipped."""
    x0, y0 = at
    layer = blank(x, y0)
    within = blank(x, y0)
    layer.within = within
    reach = 2.45 * scale
    t = np.linspace(0, 1, 60)
    sheer = 0.54 + np.where(
        t < 0.58, 0.44 * (np.maximum(0.58 - t, 0) / 0.58) ** 2.2, 0.17 * ((t - 0.58) / 0.42) ** 2
    )
    breadth = 0.46 * np.sin(np.pi * t * 0.79) ** 0.72
    along = x0 + (t - 0.5) * 2 * reach
    near = [(a, y0 - b * scale) for a, b in zip(along, sheer, strict=True)]
    far = [
        (a + 0.05 * scale * w, y0 - (b + w) * scale) for a, b, w in zip(along, sheer, breadth, strict=True)
    ]
    here = np.clip((x - x0) / (2 * reach) + 0.5, 0, 1)
    rim = np.interp(here, t, sheer)
    level = np.clip((y0 - y) / scale / rim, 0, 1.2)
    grain = noise.octaves(x * 0.05, y * 0.7, 4)
    inner = (0.022 + 0.10 * here**2 + 0.02 * grain)[..., np.newaxis] * np.array([1.0, 0.78, 0.58])
    paint(within, inner, polygon(x, y, [*near, *far[::-1]]))
    for i in range(6, 58, 4):
        rib = (far[i][0], far[i][1], far[i][0] - 0.03 * scale, far[i][1] + 0.30 * scale)
        paint(within, (0.17, 0.125, 0.085), bar(x, y, rib, 0.035 * scale))
    for share in (0.27, 0.50, 0.72, 0.93):
        i = int(share * 59)
        ends = (near[i][0], near[i][1], far[i][0], far[i][1] + 0.05 * scale)
        paint(
            within,
            (0.10, 0.075, 0.05),
            bar(x, y, (ends[0], ends[1] + 0.05 * scale, ends[2], ends[3] + 0.05 * scale), 0.19 * scale),
        )
        paint(within, (0.36, 0.27, 0.19), bar(x, y, ends, 0.15 * scale))
    strake = (level * 6.2) % 1
    lit = np.exp(-here / 0.16)
    tone = 0.028 + 0.060 * level**2 + 0.085 * lit * level + 0.040 * smooth(0.70, 0.98, strake) + 0.012 * grain
    tone *= 1 - 0.45 * smooth(0.22, 0.0, strake)
    side = tone[..., np.newaxis] * mix((0.95, 0.97, 1.05), (1.25, 0.95, 0.72), lit)
    stem = [
        (along[0] + a * scale, y0 - b * scale)
        for a, b in ((0.02, 0.80), (0.10, 0.50), (0.24, 0.22), (0.46, 0.0))
    ]
    stern = [(along[-1] - a * scale, y0 - b * scale) for a, b in ((0.20, 0.0), (0.10, 0.16), (0.02, 0.55))]
    paint(layer, side, polygon(x, y, [*near, *stern[::-1], *stem[::-1]]))
    edges = ((within, far, 0.045, (0.62, 0.49, 0.36)), (layer, near, 0.065, (0.74, 0.57, 0.41)))
    for part, edge, wide, light in edges:
        for (a, b), (c, d) in pairwise(edge):
            paint(part, light, bar(x, y, (a, b, c, d), wide * scale))
    paint(within, (0.50, 0.39, 0.28), bar(x, y, (*near[-1], *far[-1]), 0.07 * scale))
    for low, high in ((0.06, 0.10), (0.15, 0.20)):
        ends = (along[11], near[11][1] - low * scale, along[59] + 0.1 * scale, near[56][1] - high * scale)
        paint(within, (0.56, 0.45, 0.32), bar(x, y, ends, 0.05 * scale))
        paint(
            within,
            (0.56, 0.45, 0.32),
            bar(x, y, (*ends[:2], ends[0] + 0.70 * scale, ends[1] - 0.01 * scale), 0.11 * scale),
        )
    return layer


def mole(x: Reals, y: Reals, noise: Noise) -> Layer:
    """The far breakwater with its light."""
    layer = blank(x, HORIZON + 12.0)
    crest = HORIZON + 5 + 1.2 * noise.octaves(x[0] * 0.2, np.full_like(x[0], 3.0), 3)
    stone = smooth(-0.5, 0.5, y - crest[np.newaxis, :]) * (y <= HORIZON + 12) * smooth(236, 226, x)
    paint(layer, (0.135, 0.125, 0.125), stone)
    foot = HORIZON + 5.5
    tower = polygon(x, y, [(208, foot), (217, foot), (215.6, foot - 26), (209.4, foot - 26)])
    paint(layer, mix((0.22, 0.19, 0.18), (0.60, 0.52, 0.46), smooth(213, 209, x)), tower)
    paint(
        layer,
        (0.09, 0.085, 0.085),
        polygon(x, y, [(208.4, foot - 26), (216.6, foot - 26), (216.6, foot - 28), (208.4, foot - 28)]),
    )
    paint(
        layer,
        (1.9, 1.35, 0.75),
        polygon(x, y, [(210.3, foot - 28), (214.7, foot - 28), (214.7, foot - 32), (210.3, foot - 32)]),
    )
    paint(
        layer,
        (0.09, 0.085, 0.085),
        polygon(x, y, [(209.6, foot - 32), (215.4, foot - 32), (212.5, foot - 36)]),
    )
    return layer


def buoys(scene: Reals, x: Reals, y: Reals, surface: Water) -> Reals:
    """Mooring buoys."""
    for at, level, size in ((430.0, 470.0, 8.0), (128.0, 430.0, 5.5), (528.0, 418.0, 4.5)):
        layer = blank(x, level + size * 0.35)
        round_ = smooth(size, size - 1, np.hypot(x - at, (y - level) * 1.1)) * (y < level + size * 0.35)
        lit = np.clip(0.5 - (x - at) / size * 0.5 - (y - level) / size * 0.3, 0, 1)
        paint(layer, mix((0.09, 0.03, 0.022), (0.85, 0.34, 0.18), lit), round_)
        scene = placed(scene, layer, x, y, surface)
    return scene


def gulls(scene: Reals, x: Reals, y: Reals) -> Reals:
    """A few birds."""
    for at, level, span, lift in (
        (455, 150, 15, 0.45),
        (498, 132, 11, 0.3),
        (548, 168, 9, 0.5),
        (170, 118, 12, 0.35),
    ):
        for side in (-1, 1):
            for part in range(8):
                a, b = part / 8, (part + 1) / 8
                points = [
                    (at + side * s * span, level - lift * span * np.sin(np.pi * s**0.7) + 0.25 * span * s)
                    for s in (a, b)
                ]
                wing = bar(x, y, (*points[0], *points[1]), 2.4 * (1 - a) + 0.5)
                scene = mix(scene, (0.13, 0.12, 0.13), wing * 0.85)
    return scene


def blurred(picture: Reals, radius: float) -> Reals:
    """Gaussian blur, by way of the Fourier transform."""
    rows, columns = picture.shape[:2]
    fy, fx = np.fft.fftfreq(rows)[:, np.newaxis], np.fft.rfftfreq(columns)[np.newaxis, :]
    keep = np.exp(-2 * (np.pi * radius) ** 2 * (fx**2 + fy**2))
    bands = [np.fft.irfft2(np.fft.rfft2(picture[..., i]) * keep, s=(rows, columns)) for i in range(3)]
    return np.stack(bands, axis=-1)


def developed(scene: Reals) -> NDArray[np.uint8]:
    """From light to codes: bloom, the lens's fall-off, a film's curve, and grain."""
    small = scene.reshape(HEIGHT, FINER, WIDTH, FINER, 3).mean(axis=(1, 3))
    small += 0.10 * blurred(np.minimum(np.maximum(small - 0.9, 0), 12), 14) + 0.05 * blurred(
        np.minimum(small, 6), 60
    )
    y, x = np.mgrid[0:HEIGHT, 0:WIDTH]
    off = np.hypot((x - WIDTH / 2) / WIDTH, (y - HEIGHT / 2) / HEIGHT)
    small *= (1 - 0.55 * off**2)[..., np.newaxis]
    light = 0.60 * small * (0.82 + 0.18 * smooth(0.0, 0.5, small))
    curve = (light * (2.51 * light + 0.03)) / (
        light * (2.43 * light + 0.59) + 0.14
    )  # Narkowicz 2015, from memory
    coded = np.clip(curve, 0, 1) ** (1 / 2.2)
    grain = np.random.default_rng(SEED).normal(0, 1, (HEIGHT, WIDTH, 1))
    coded += grain * 0.010 * (1 - np.abs(2 * coded.mean(axis=2, keepdims=True) - 1) * 0.6)
    return np.asarray(np.clip(coded * 255 + 0.5, 0, 255), dtype=np.uint8)


def harbour() -> NDArray[np.uint8]:
    """The picture, uint8, shape (height, width, 3)."""
    noise = Noise(SEED)
    row, column = np.mgrid[0 : HEIGHT * FINER, 0 : WIDTH * FINER]
    x, y = (column + 0.5) / FINER, (row + 0.5) / FINER
    surface = water(x, y, noise)
    scene = sea(headlands(sky(x, y, noise), x, y, noise), x, y, surface)
    scene = gulls(scene, x, y)
    front = quay(x, y, noise)
    hut(front, x, y, noise)
    furniture(front, x, y)
    layers: list[Callable[[], Layer]] = [
        lambda: mole(x, y, noise),
        lambda: yacht(x, y, (486, 362), 9.2, turn=1),
        lambda: yacht(x, y, (120, 371), 11.8, turn=-1),
        lambda: yacht(x, y, (396, 386), 15.6, turn=-1),
        lambda: front,
        lambda: skiff(x, y, (705, 486), 42.0, noise),
    ]
    for make in layers:
        scene = placed(scene, make(), x, y, surface)
    scene = buoys(scene, x, y, surface)
    scene = placed(scene, skiff(x, y, (268, 622), 84.0, noise), x, y, surface)
    return developed(scene)


def main() -> None:
    """Writes the picture."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("out", type=Path)
    asked = parser.parse_args()
    Image.fromarray(harbour()).save(asked.out, "JPEG", quality=86, optimize=True, progressive=False)
    print(f"{asked.out}: {asked.out.stat().st_size} bytes")


if __name__ == "__main__":
    main()
