"""Tints and hatches: their means, their joins, and whether an eye tells any two of them apart.

The eye's filter is that of S-CIELAB (Zhang and Wandell 1996): opponent channels and sums of Gaussians, figures from
memory. On a pattern that repeats it is exact, as the Fourier transform of one repeat.
"""

import base64
import io
import itertools
from functools import cache

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray
from PIL import Image
from tests.golden import check_golden
from tests.inks import typical

from wallbill.blocks.drawing.palette import Palette
from wallbill.blocks.drawing.patterns import (
    CLOSENESS,
    HATCHES,
    LEAST_DIFFERENCE,
    PERIOD_PX,
    STROKE_ARCMIN,
    TINTS,
    Hatch,
    hatch,
    pattern_of_hatch,
    pattern_of_tint,
    share_of,
    tile,
)
from wallbill.blocks.drawing.tiles import grey_tile, hatch_css, tint_css
from wallbill.errors import SheetError
from wallbill.inks import colour
from wallbill.inks.inkset import ink_set
from wallbill.units.sight import Sight, angle_arcmin

_OPPONENT = np.array(((0.279, 0.72, -0.107), (-0.449, 0.29, -0.077), (0.086, -0.59, 0.501)))
_SPREADS = (
    ((0.0283, 0.921), (0.133, 0.105)),
    ((0.0392, 0.531), (0.494, 0.33)),
    ((0.0536, 0.488), (0.386, 0.371)),
)
NAMED = {
    **{f"tint {name}": pattern for name, pattern in TINTS.items()},
    **{f"{name} {how}": HATCHES[name][place] for name in HATCHES for place, how in enumerate(CLOSENESS)},
}


def seen(light: NDArray[np.float64], *, pixels_per_degree: float) -> NDArray[np.float64]:
    """CIELAB of one repeat of a pattern, linear light (height, width, 3), as the eye makes it out."""
    opponent = colour.linear_to_xyz(light) @ _OPPONENT.T
    down, across = (np.fft.fftfreq(side) * pixels_per_degree for side in light.shape[:2])
    squares = down[:, np.newaxis] ** 2 + across[np.newaxis] ** 2  # of cycles per degree
    planes = []
    for part, spreads in enumerate(_SPREADS):
        total = sum(weight for _, weight in spreads)
        passes = sum(
            weight / total * np.exp(-((np.pi * spread) ** 2) * squares) for spread, weight in spreads
        )
        planes.append(np.fft.ifft2(np.fft.fft2(opponent[..., part]) * passes).real)
    return colour.xyz_to_lab(np.stack(planes, axis=-1) @ np.linalg.inv(_OPPONENT).T)


def light_of(pattern: Hatch, *, stroke_px: int) -> NDArray[np.float64]:
    """The light of a typical panel's black and white in one repeat of the pattern, the panel's white = 1."""
    lights = colour.lms_to_linear(ink_set(typical.BW.inks).shown)
    side = PERIOD_PX * stroke_px
    return lights[np.where(hatch((side, side), pattern, stroke_px=stroke_px), 0, 1)]


def difference(one: NDArray[np.float64], other: NDArray[np.float64]) -> float:
    """Mean CIEDE2000 of two patterns as seen, laid over each other as they match best."""
    places = (np.arange(PERIOD_PX) - np.arange(8)[:, np.newaxis]) % PERIOD_PX
    shifted = other[places[:, np.newaxis, :, np.newaxis], places[np.newaxis, :, np.newaxis, :]]
    return float(colour.ciede2000(one[np.newaxis, np.newaxis], shifted).mean(axis=(2, 3)).min())


def least_differences(arcmin_px: float, *, stroke_px: int) -> dict[tuple[str, str], float]:
    """The difference of any two named patterns, hatches with strokes of so many pixels of that angle.

    What the eye's filter leaves is smooth, so one sample a stroke is enough.
    """
    per_degree = 60 / arcmin_px
    looks = {}
    for name, pattern in NAMED.items():
        if name.startswith("tint"):
            looks[name] = seen(light_of(pattern, stroke_px=1), pixels_per_degree=per_degree)
        else:
            whole = seen(light_of(pattern, stroke_px=stroke_px), pixels_per_degree=per_degree)
            looks[name] = whole[stroke_px // 2 :: stroke_px, stroke_px // 2 :: stroke_px]
    return {
        (one, other): difference(looks[one], looks[other]) for one, other in itertools.combinations(looks, 2)
    }


# A pixel of 0.2 mm is seen under 1.4, 0.9, 0.7, 0.34 and 0.23 minutes of arc from 0.5, 0.76, 1, 2 and 3 m.
@pytest.mark.parametrize(
    ("pitch_mm", "distance_m"), [(0.2, 0.5), (0.2, 0.76), (0.2, 1), (0.2, 2), (0.2, 3), (0.112, 1.2)]
)
def test_any_two_are_told_apart_at_the_reading_distance(pitch_mm: float, distance_m: float) -> None:
    stroke_px = Sight(pitch_mm, distance_m).pixels(STROKE_ARCMIN)
    found = least_differences(angle_arcmin(distance_m, pitch_mm), stroke_px=stroke_px)
    pair = min(found, key=lambda two: found[two])
    assert found[pair] >= LEAST_DIFFERENCE, (pair, found[pair])


def test_tints_differ_from_any_distance() -> None:
    """Tints merge into even tones far away, and their means alone tell them apart."""
    looks = [
        np.full((1, 1, 3), light_of(pattern, stroke_px=1).mean(axis=(0, 1))) for pattern in TINTS.values()
    ]
    labs = [colour.xyz_to_lab(colour.linear_to_xyz(light)) for light in looks]
    assert (
        min(colour.ciede2000(one, other).item() for one, other in itertools.pairwise(labs))
        >= LEAST_DIFFERENCE
    )


def test_farther_away_hatches_merge() -> None:
    """What the page of reference says: with strokes seen under half of it, hatches of one mean look alike."""
    found = least_differences(STROKE_ARCMIN / 2, stroke_px=1)
    alike = {two for two, value in found.items() if value < LEAST_DIFFERENCE / 2}
    assert ("level close", "upright close") in alike
    assert ("tint quarter", "level close") in alike
    assert not any(one.startswith("tint") and other.startswith("tint") for one, other in alike)


def test_type_is_read_on_the_light_tints() -> None:
    """Contrast of black type as WCAG 2.2 has it, from memory: (light + 0.05) / (dark + 0.05), 4.5 for all type."""
    light, dark = colour.luminance(68), colour.luminance(17)  # a typical panel's white and black
    contrast = {
        name: float((share_of(pattern) * dark + (1 - share_of(pattern)) * light + 0.05) / (dark + 0.05))
        for name, pattern in TINTS.items()
    }
    assert min(contrast[name] for name in ("highlight", "light", "quarter")) > 4.5
    assert contrast["half"] == pytest.approx(3.5, abs=0.1)


@cache
def letters(pattern: Hatch) -> str:
    return "\n".join("".join("#" if one else "." for one in row) for row in tile(pattern))


@pytest.mark.parametrize("pattern", Hatch)
def test_the_number_in_a_name_is_the_share(pattern: Hatch) -> None:
    share = share_of(pattern)
    number = next((int(part) for part in pattern.split("-") if part.isdigit()), 100)
    assert int(share * 100) == number, letters(pattern)
    for stroke_px in (1, 2, 5):
        side = PERIOD_PX * stroke_px
        mask = hatch((side, side), pattern, stroke_px=stroke_px)
        assert mask.mean() == pytest.approx(share, abs=1e-12)
        assert (mask == np.roll(mask, stroke_px * tile(pattern).shape[0], axis=0)).all()


@given(st.sampled_from(Hatch), st.integers(1, 3), st.integers(PERIOD_PX, 90), st.integers(PERIOD_PX, 90))
def test_any_cut_out_joins_and_keeps_its_mean(
    pattern: Hatch, stroke_px: int, width: int, height: int
) -> None:
    whole = hatch((200, 200), pattern, stroke_px=stroke_px)
    part = hatch((width, height), pattern, stroke_px=stroke_px)
    assert (whole[:height, :width] == part).all()
    # Half a stroke's row or column more or less at each edge is all that a cut can change.
    edge = 8 * stroke_px * (1 / width + 1 / height)
    assert abs(part.mean() - share_of(pattern)) <= edge


def test_patterns_named() -> None:
    assert pattern_of_tint("half") is Hatch.CHECKS_50
    assert pattern_of_hatch("rising", closeness="close") is Hatch.RISING_33_WIDE
    assert len({letters(pattern) for pattern in NAMED.values()}) == len(NAMED) == 17


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: pattern_of_tint("darkish"), "no tint 'darkish'"),
        (lambda: pattern_of_hatch("risng"), "no hatch 'risng'"),
        (lambda: pattern_of_hatch("rising", closeness="near"), "open or close"),
        (lambda: hatch_css(Hatch.RISING_12, Palette(), stroke_px=0), "1 to 32"),
        (lambda: tint_css(Hatch.DOTS_6, Palette(), of="red"), "ink or accent"),
    ],
)
def test_faults_are_told(call: "object", words: str) -> None:
    with pytest.raises(SheetError, match=words) as caught:
        call()  # type: ignore[operator]  # a function without arguments, as the table above has it
    assert caught.value.mend


def pixels_of(css: str) -> NDArray[np.uint8]:
    """The tile in a background's value."""
    data = css.removeprefix("url(data:image/png;base64,").removesuffix(") fixed")
    with Image.open(io.BytesIO(base64.b64decode(data))) as picture:
        return np.asarray(picture.convert("RGB"))


def test_a_tile_is_the_pattern_in_the_palettes_colours() -> None:
    palette = Palette(accent="#c80000")
    found = pixels_of(hatch_css(Hatch.RISING_12, palette, stroke_px=2, of="accent"))
    mask = hatch((48, 48), Hatch.RISING_12, stroke_px=2)
    assert (found == np.where(mask[..., np.newaxis], (200, 0, 0), (255, 255, 255))).all()
    assert (
        pixels_of(tint_css(Hatch.DOTS_75, palette))
        == np.where(hatch((24, 24), Hatch.DOTS_75)[..., np.newaxis], 0, 255)
    ).all()


@pytest.mark.parametrize("pattern", TINTS.values())
def test_greys_mix_the_tints_mean_of_one_grey_or_two_neighbours(pattern: Hatch) -> None:
    codes = grey_tile(Palette(smooth=True), pattern)
    light = colour.codes_to_linear(codes).mean()
    assert 1 - light == pytest.approx(share_of(pattern), abs=0.01)
    levels = np.unique(codes)
    assert (levels % 17 == 0).all()
    assert len(levels) == 1 or levels[1] - levels[0] == 17
    # Even to the eye: as seen from 0.4 m on pixels of 0.15 mm it spreads by less than half of a just visible difference.
    spread = seen(colour.codes_to_linear(np.repeat(codes[..., np.newaxis], 3, axis=2)), pixels_per_degree=46)[
        ..., 0
    ].std()
    assert spread < 0.5


def test_all_of_them_golden() -> None:
    """Every named pattern in a field of one period, three rows of six: letter grids in `tile`, looked at as a picture."""
    rows = [list(NAMED.values())[at : at + 6] for at in range(0, len(NAMED), 6)]
    codes = np.zeros((len(rows) * 28, 6 * 28), dtype=np.uint8)
    for down, row in enumerate(rows):
        for across, pattern in enumerate(row):
            codes[down * 28 + 2 : down * 28 + 26, across * 28 + 2 : across * 28 + 26] = hatch(
                (24, 24), pattern
            )
    check_golden("patterns", codes, ((255, 255, 255), (0, 0, 0)))
