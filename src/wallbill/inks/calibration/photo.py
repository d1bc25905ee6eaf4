"""A photograph of a sheet: its patches' light against its white, whatever the angle and however the light falls.

A photograph tells relative light. What it is a share of comes from elsewhere: the profile's white, or a sheet of plain
paper beside. Hues are as the camera sees them.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from types import MappingProxyType

import numpy as np

from wallbill.errors import PictureError, Place
from wallbill.inks import colour
from wallbill.inks.calibration import flattening, marks
from wallbill.inks.calibration.flattening import Evenness, View
from wallbill.inks.calibration.light import Light, lab_of, mean_light
from wallbill.inks.calibration.marks import Mark
from wallbill.inks.calibration.patches import Box, Kind, Patch
from wallbill.inks.calibration.pencil import mark_box
from wallbill.inks.calibration.target import Target
from wallbill.inks.colour import Floats
from wallbill.inks.impression import Rgb
from wallbill.inks.inkset import measured_xyz
from wallbill.panels.model import Ink

LEAST_SIDE_PX = 480
LEAST_SCALE = 0.8
"""Pixels of a photograph for each of the panel: below, edges reach into patches."""

LEAST_MODULATION = 0.45
"""How far single modules of the marks must stand out, as a share of a large dark field against white."""

_MARGIN_PX, _MOST_PX = 3, 96
_MOST_OFF_PX = 2.0  # the marks' corners from a flat sheet's
_MOST_RATIO = 4.0
_CLIPPED, _DROWNED = 253, 2
_MOST_CLIPPED, _MOST_DROWNED = 0.02, 0.2
_NAMES = MappingProxyType({1: "left top", 2: "right top", 3: "right bottom", 4: "left bottom"})


@dataclass(frozen=True, slots=True)
class Found:
    """A mark in a photograph: what it says, and its left top, right top, right bottom and left bottom corner in pixels."""

    mark: Mark
    corners: tuple[tuple[float, float], ...]


@dataclass(frozen=True, slots=True)
class Paper:
    """A sheet of plain paper beside the panel: its ``luminance``, 0 to 1, and a place on it in the photograph, pixels."""

    luminance: float
    x_px: int
    y_px: int


@dataclass(frozen=True, slots=True)
class Photographed:
    """What a photograph tells. ``sheet``: which one it shows. ``notes``: what should be known, in words."""

    sheet: int
    lights: Mapping[str, Light]
    notes: tuple[str, ...] = ()


def measure_photo(
    rgb: Rgb, found: Sequence[Found], target: Target, *, name: str, paper: Paper | None = None
) -> Photographed:
    """The light of every patch of the sheet in a photograph, uint8 (height, width, 3).

    ``found``: the marks in it. ``name``: for messages. Raises `PictureError` where it is too small, blurred, clipped,
    does not show three marks or more of a sheet of this target, or is lit too unevenly.
    """
    where = Place(name)
    if min(rgb.shape[:2]) < LEAST_SIDE_PX:
        mend = "Give the photograph as the camera took it."
        raise PictureError(f"{rgb.shape[1]} x {rgb.shape[0]} pixels are too few", where=where, mend=mend)
    number, corners = _of_one_sheet(found, target, where)
    flat = _Flat(rgb, _view(corners, target, where), target, number, where)
    flat.check_sharp(sorted(corners))
    field = flat.evenness()
    patches = [one for one in target.patches if one.sheet == number and one.name in target.to_read]
    shares = {one.name: flat.share(one, field) for one in patches}
    white, notes = _white(rgb, flat, field, target.inks, paper=paper)
    lights = {
        one.name: Light(_lab(shares[one.name], white))
        for one in patches
        if paper
        or one.kind is not Kind.SOLID
        or one.ink != target.white  # without paper white is not measured
    }
    if field.rough > 0.01:
        notes.append(f"white is uneven by {field.rough * 100:.1f} %: a reflection, or a wrinkled foil?")
    return Photographed(number, MappingProxyType(lights), tuple(notes))


def with_white(target: Target, lights: Mapping[str, Light]) -> Target:
    """The target with its white as it was read elsewhere, by the names of patches: a photograph is scaled to that."""
    read = tuple(
        light
        for name, light in lights.items()
        if target.by_name[name].kind is Kind.SOLID
        and target.by_name[name].ink == target.white
        and light.has_colour
    )
    if not read:
        return target
    inks = list(target.inks)
    inks[target.white] = replace(inks[target.white], lab=mean_light(read).lab)
    return replace(target, inks=tuple(inks))


def _of_one_sheet(
    found: Sequence[Found], target: Target, where: Place
) -> tuple[int, Mapping[int, tuple[tuple[float, float], ...]]]:
    """The sheet that the marks are of, and their corners by the mark's corner of the sheet."""
    if not found:
        mend = "Show the whole panel, sharp, from the front, as large as the picture allows."
        raise PictureError(
            "no mark of a target can be read: the picture is blurred, too dark, or shows no target",
            where=where,
            mend=mend,
        )
    own = [one for one in found if one.mark.target == marks.target_number(target.digest)]
    if not own:
        mend = "Name the panel whose target is shown, or make its target anew and show that."
        raise PictureError("the target in the picture is that of another panel", where=where, mend=mend)
    sheets = sorted({one.mark.sheet for one in own})
    if len(sheets) > 1:
        raise PictureError(
            f"the picture shows the sheets {', '.join(map(str, sheets))} at once",
            where=where,
            mend="Give one picture a sheet.",
        )
    corners = {one.mark.corner: one.corners for one in own}
    if len(corners) < 3:
        lost = " and ".join(_NAMES[corner] for corner in marks.CORNERS if corner not in corners)
        mend = "Show the whole panel, sharp and without reflections; three of its four marks must be read."
        raise PictureError(f"the marks {lost} cannot be read", where=where, mend=mend)
    number = sheets[0] % marks.BEFORE
    if sheets[0] != number:
        what = f"this is what is shown before sheet {number}"
        raise PictureError(what, where=where, mend=f"Show sheet {number} after it, and photograph that.")
    return number, MappingProxyType(corners)


def _view(corners: Mapping[int, tuple[tuple[float, float], ...]], target: Target, where: Place) -> View:
    """How the sheet lies in the photograph, checked."""
    on_sheet: list[tuple[int, int]] = []
    in_photo: list[tuple[float, float]] = []
    for corner, points in corners.items():
        left, top, side, _ = mark_box(corner, target.frame)
        on_sheet += [(left, top), (left + side, top), (left + side, top + side), (left, top + side)]
        in_photo += points
    view = flattening.view_of(np.array(on_sheet, dtype=np.float64), np.array(in_photo), target.frame.size)
    if view.scale < LEAST_SCALE:
        raise PictureError(
            f"the panel is too small in the picture: {view.scale:.2f} pixels for each of its own, {LEAST_SCALE:g} are needed",
            where=where,
            mend="Go nearer, or take the picture at the camera's full size.",
        )
    if view.off_px > _MOST_OFF_PX:
        raise PictureError(
            f"the marks lie {view.off_px:.1f} pixels off a flat sheet",
            where=where,
            mend="Lay the panel flat, and go farther away with a longer lens.",
        )
    return view


@dataclass(frozen=True, slots=True, eq=False)
class _Flat:
    """A photographed sheet laid flat."""

    rgb: Rgb
    view: View
    target: Target
    sheet: int
    where: Place

    def _codes(self, box: Box) -> np.ndarray[tuple[int, ...], np.dtype[np.uint8]]:
        return flattening.sampled(self.rgb, self.view, box)

    def light(self, box: Box) -> Floats:
        """Linear light (3,) of a box of whole patterns."""
        return flattening.light_of(self._codes(box))

    def check_sharp(self, corners: Sequence[int]) -> None:
        """Raises `PictureError` where the marks' single modules run into each other."""
        module = self.target.frame.module_px
        number = marks.target_number(self.target.digest)
        dark, light, core = [], [], []
        for corner in corners:
            modules = marks.modules(Mark(corner, self.sheet, number))
            left, top, side, _ = mark_box(corner, self.target.frame)
            codes = self._codes((left, top, side, side))
            grey = colour.codes_to_linear(codes).mean(axis=(1, 3, 4))
            cells = grey.reshape(marks.MODULES, module, marks.MODULES, module).mean(axis=(1, 3))
            core.append(cells[3, 3])  # the middle of the dark square of three modules
            data = np.zeros_like(modules)
            data[9:, 9:] = True
            dark += cells[modules & data].tolist()
            light += cells[~modules & data].tolist()
        white = np.quantile(light, 0.9)
        modulation = (np.mean(light) - np.mean(dark)) / max(white - np.mean(core), 1e-6)
        if modulation < LEAST_MODULATION:
            raise PictureError(
                f"the picture is blurred: single squares of the marks keep {modulation * 100:.0f} % of their contrast, "
                f"{LEAST_MODULATION * 100:.0f} % are needed",
                where=self.where,
                mend="Hold the camera still, let it focus on the panel, and give it light.",
            )

    def evenness(self) -> Evenness:
        """The light over the sheet, from what is white on it. Raises `PictureError` where it is clipped or too uneven."""
        codes = self.target.sheets[self.sheet - 1].impression.codes
        side = 14 if min(codes.shape) >= 300 else 12
        boxes: list[Box] = [
            (int(x) + 2, int(y) + 2, side - 4, side - 4)
            for x, y in flattening.white_places(codes, self.target.white, side_px=side)
        ]
        samples = [self._codes(box) for box in boxes]
        clipped = float(np.mean([(some >= _CLIPPED).any(axis=-1).mean() for some in samples]))
        if clipped > _MOST_CLIPPED:
            raise PictureError(
                f"{clipped * 100:.0f} % of the white is clipped: its light is lost",
                where=self.where,
                mend="Expose less, so that the panel's white is a light grey in the picture.",
            )
        lights = np.array([colour.codes_to_linear(some).mean(axis=(0, 1, 2, 3)) for some in samples])
        field = flattening.evenness(flattening.points_of(boxes), lights, self.target.frame.size)
        if field.ratio > _MOST_RATIO:
            raise PictureError(
                f"the light is too uneven: {field.ratio:.1f} times as much at one end as at the other",
                where=self.where,
                mend="Light the panel from both sides, or by the sky.",
            )
        return field

    def share(self, patch: Patch, field: Evenness) -> Floats:
        """Linear light (3,) of a patch as a share of white's at its place."""
        box = flattening.inner(patch.box, margin_px=_MARGIN_PX, most_px=_MOST_PX)
        codes = self._codes(box)
        if patch.kind is Kind.SOLID and patch.ink == self.target.black:
            drowned = float((codes <= _DROWNED).all(axis=-1).mean())
            if drowned > _MOST_DROWNED:
                raise PictureError(
                    f"{drowned * 100:.0f} % of {patch.name} is drowned: its light is lost",
                    where=self.where,
                    mend="Expose more, and turn off what deepens contrast.",
                )
        share: Floats = flattening.light_of(codes) / field.at(flattening.points_of([box]))[0]
        return share


def _white(
    rgb: Rgb, flat: _Flat, field: Evenness, inks: tuple[Ink, ...], *, paper: Paper | None
) -> tuple[Floats, list[str]]:
    """XYZ under D65 of the panel's white, against a perfect one."""
    if paper is None:
        return measured_xyz(inks)[flat.target.white], [
            "no paper is in it, so it tells shares of white: white itself is not measured"
        ]
    half = max(2, round(4 * flat.view.scale))
    if not (half <= paper.x_px < rgb.shape[1] - half and half <= paper.y_px < rgb.shape[0] - half):
        raise PictureError(
            f"the paper at {paper.x_px}, {paper.y_px} is not in the picture",
            where=flat.where,
            mend="Give the place of the paper in pixels from the left and the top.",
        )
    part = rgb[paper.y_px - half : paper.y_px + half, paper.x_px - half : paper.x_px + half]
    if (part >= _CLIPPED).mean() > _MOST_CLIPPED:
        raise PictureError(
            "the paper is clipped: its light is lost",
            where=flat.where,
            mend="Expose less, so that the paper is a light grey in the picture.",
        )
    seen = np.median(colour.codes_to_linear(part).reshape(-1, 3), axis=0)
    nearest = np.clip(_on_sheet(flat.view, paper), (0, 0), field.size)
    share = field.at(nearest)[0] / seen
    return colour.linear_to_xyz(share) * paper.luminance, [
        f"white is measured against paper of luminance {paper.luminance:g}"
    ]


def _on_sheet(view: View, paper: Paper) -> Floats:
    """Where the paper lies as the sheet counts, (1, 2)."""
    flat = np.linalg.inv(view.to_photo) @ np.array([paper.x_px, paper.y_px, 1.0])
    place: Floats = flat[np.newaxis, :2] / flat[2]
    return place


def _lab(share: Floats, white: Floats) -> tuple[float, float, float]:
    """CIELAB under D50 of linear light (3,) that is a share of a white with this XYZ under D65."""
    xyz = colour.adapt(colour.linear_to_xyz(share), source=colour.D65, target=white)
    return lab_of(colour.adapt(xyz, source=colour.D65, target=colour.D50))
