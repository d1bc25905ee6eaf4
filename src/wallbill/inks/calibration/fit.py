"""From measured patches to a panel's figures: the colours of its inks, and how much its dots gain."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import partial

import numpy as np

from wallbill.inks import colour, halftone
from wallbill.inks.calibration.by_eye import LARGEST_N, Match, n_of_matches
from wallbill.inks.calibration.light import Light, mean_light
from wallbill.inks.calibration.patches import Kind, Patch, dots
from wallbill.inks.calibration.target import Target
from wallbill.inks.colour import Floats
from wallbill.inks.inkset import ink_set, measured_xyz
from wallbill.panels.model import Ink, Panel

RESOLUTION = 0.01
"""Steps in which the factor is searched; readings that repeat to 0.3 L* tell it to about 0.05."""

LARGE_RESIDUAL = 1.0
"""Mean |L*| that one factor may leave between predicted and measured before it is told."""

_COARSE = 0.05
_TINTS = frozenset({Kind.FINE, Kind.CLUSTER, Kind.RAMP})


@dataclass(frozen=True, slots=True)
class Compared:
    """One patch: CIELAB (D50) as measured, as the profile before predicts it, and as the fitted one does.

    ``has_colour``: false where only L* was measured; differences are then of L* alone. ``is_tint``: false for solids.
    """

    name: str
    measured: tuple[float, float, float]
    before: tuple[float, float, float]
    after: tuple[float, float, float]
    has_colour: bool = True
    is_tint: bool = False

    def off(self, predicted: tuple[float, float, float]) -> float:
        """Predicted L* less measured L*."""
        return predicted[0] - self.measured[0]

    def difference(self, predicted: tuple[float, float, float]) -> float:
        """CIEDE2000 between predicted and measured."""
        return float(colour.ciede2000(self.measured, predicted))


@dataclass(frozen=True, slots=True)
class Fit:
    """What was found.

    ``inks``: measured CIELAB (D50) by the ink's name. ``n``: the factor, None where none was found. ``n_step``: the steps
    in which it was searched, None where it was matched by eye.
    ``n_fine``, ``n_cluster``: from these patches alone. ``edge_px``: how far the edge of an ink stands outside of its
    pixel, pixels; below 0 it stands inside. ``ghost``: largest L* that is left of what stood there before.
    ``notes``: what should be known, in words.
    """

    inks: Mapping[str, tuple[float, float, float]]
    n: float | None
    patches: tuple[Compared, ...]
    n_step: float | None = None
    n_fine: float | None = None
    n_cluster: float | None = None
    edge_px: float | None = None
    ghost: float | None = None
    notes: tuple[str, ...] = ()

    def residual(self, *, before: bool = False) -> float:
        """Mean |L*| between predicted and measured over the tints, or the solids where there are none of them; else 0."""
        some = [one for one in self.patches if one.is_tint] or self.patches
        offs = [abs(one.off(one.before if before else one.after)) for one in some]
        return float(np.mean(offs)) if offs else 0.0


def fit(lights: Mapping[str, Light], target: Target, panel: Panel, *, matches: Sequence[Match] = ()) -> Fit:
    """The figures that explain what was measured.

    ``lights``: by the name of a patch of ``target``. ``panel``: the profile before; what was not measured of inks is
    taken from it. ``matches``: what an eye found, which counts where no tint was measured.
    """
    known = target.by_name
    inks, notes = _inks(lights, target, panel)
    tints = [known[name] for name in lights if known[name].kind in _TINTS and 0 < known[name].share < 1]
    search = partial(_search, lights=lights, inks=inks)
    n = search(tints) if tints else None
    seen = round(n_of_matches(matches, inks, white=target.white), 2) if matches else None
    if n is not None and seen is not None:
        notes.append(f"by eye the factor is {seen:.2f}; the one that was measured counts")
    n = n if n is not None else seen
    fine = [patch for patch in tints if patch.kind is Kind.FINE]
    clusters = [patch for patch in tints if patch.kind is Kind.CLUSTER]
    after = replace(panel, inks=inks, yule_nielsen_n=n or panel.yule_nielsen_n)
    compared = _compared(lights, target, panel, after)
    found = Fit(
        inks={
            ink.name: ink.lab
            for ink, old in zip(inks, panel.inks, strict=True)
            if ink.lab != old.lab or ink.name in _solids(lights, target)
        },
        n=n,
        patches=compared,
        n_step=RESOLUTION if tints else None,
        n_fine=search(fine) if fine else None,
        n_cluster=search(clusters) if clusters else None,
        edge_px=_edge(lights, inks, fine, clusters, search) if fine and clusters else None,
        ghost=_ghost(lights, target),
    )
    return replace(found, notes=(*notes, *_remarks(found)))


def _solids(lights: Mapping[str, Light], target: Target) -> Mapping[str, Light]:
    """The mean light of each ink whose solids were measured, by its name."""
    found: dict[str, list[Light]] = {}
    for name, light in lights.items():
        patch = target.by_name[name]
        if patch.kind is Kind.SOLID:
            found.setdefault(target.inks[patch.ink].name, []).append(light)
    return {name: mean_light(tuple(some)) for name, some in found.items()}


def _inks(lights: Mapping[str, Light], target: Target, panel: Panel) -> tuple[tuple[Ink, ...], list[str]]:
    """The panel's inks with their measured colours, and what to know of them."""
    solids = _solids(lights, target)
    inks: list[Ink] = []
    for ink in panel.inks:
        light = solids.get(ink.name)
        if light is None:
            inks.append(ink)
        else:
            a, b = light.lab[1:] if light.has_colour else ink.lab[1:]
            inks.append(replace(ink, lab=(round(light.lab[0], 2), round(a, 2), round(b, 2))))
    notes = []
    if missing := [ink.name for ink in panel.inks if ink.name not in solids]:
        notes.append(f"no solid was measured of {', '.join(missing)}: the profile's colours stay")
    if any(not light.has_colour for light in solids.values()):
        notes.append("only reflectance was read: the inks keep the a* and b* of the profile")
    return tuple(inks), notes


def predicted(patches: Sequence[Patch], inks: tuple[Ink, ...], n: float) -> Floats:
    """CIELAB under D50, shape (patches, 3), as separation reckons: dots mix in the inks' cone-like light to the power 1/n."""
    shares = np.zeros((len(patches), len(inks)))
    for row, patch in enumerate(patches):
        shares[row, patch.ground] += 1 - patch.share
        shares[row, patch.ink] += patch.share
    shown = ink_set(inks, n=n)
    mixed = halftone.mix(shares, shown.shown, n=n)
    white = measured_xyz(inks)[shown.white]
    xyz = colour.adapt(colour.linear_to_xyz(colour.lms_to_linear(mixed)), source=colour.D65, target=white)
    return colour.xyz_to_lab(colour.adapt(xyz, source=colour.D65, target=colour.D50), white=colour.D50)


def _search(tints: Sequence[Patch], *, lights: Mapping[str, Light], inks: tuple[Ink, ...]) -> float:
    """The factor of 1 to `LARGEST_N` with the least mean |L*| over some tints: coarsely, then finely around it."""
    measured = np.array([lights[patch.name].lab[0] for patch in tints])

    def miss(n: float) -> float:
        return float(np.abs(predicted(tints, inks, n)[:, 0] - measured).mean())

    coarse = _best(np.arange(1, LARGEST_N + _COARSE / 2, _COARSE), miss)
    around = np.arange(coarse - _COARSE, coarse + _COARSE + RESOLUTION / 2, RESOLUTION)
    return round(_best(np.clip(around, 1, LARGEST_N), miss), 2)


def _best(values: Floats, miss: Callable[[float], float]) -> float:
    return float(min(values, key=lambda value: miss(float(value))))


def _edge(
    lights: Mapping[str, Light],
    inks: tuple[Ink, ...],
    fine: Sequence[Patch],
    clusters: Sequence[Patch],
    search: Callable[[Sequence[Patch]], float],
) -> float:
    """How far edges spread, pixels: what fine dots cover more than clusters do, over what more edge they have.

    The factor of the clusters alone stands for what light does below the ink.
    """
    n = search(clusters)
    light = measured_xyz(inks)[:, 1]
    more: list[float] = []
    edges: list[float] = []
    for one in fine:
        for other in clusters:
            if (one.ink, one.ground, one.count) == (other.ink, other.ground, other.count):
                ends = (float(light[one.ink]), float(light[one.ground]))
                more.append(_covered(lights[one.name], ends, n) - _covered(lights[other.name], ends, n))
                edges.append(edge_length(one) - edge_length(other))
    if not more:
        return 0.0
    run, rise = np.array(edges), np.array(more)
    return float(run @ rise / (run @ run))


def _covered(light: Light, ends: tuple[float, float], n: float) -> float:
    """Coverage of ink that gives a luminance between the ink's and the ground's."""
    ink, ground, seen = (float(halftone.to_mixing(value, n=n)) for value in (*ends, light.luminance))
    return (ground - seen) / (ground - ink)


def edge_length(patch: Patch) -> float:
    """Edges between ink and ground in a patch, in pixels of length for each pixel of area."""
    pattern = dots(patch.kind, patch.count)
    along = sum(float((pattern != np.roll(pattern, 1, axis=axis)).sum()) for axis in (0, 1))
    return along / pattern.size


def _compared(
    lights: Mapping[str, Light], target: Target, before: Panel, after: Panel
) -> tuple[Compared, ...]:
    """Measured against predicted, patch by patch, ghosts and bars left out."""
    some = [patch for patch in target.patches if patch.name in lights and patch.kind is not Kind.GHOST]
    if not some:
        return ()
    olds, news = (predicted(some, panel.inks, panel.yule_nielsen_n) for panel in (before, after))
    return tuple(
        _one(patch, lights[patch.name], old, new) for patch, old, new in zip(some, olds, news, strict=True)
    )


def _one(patch: Patch, light: Light, old: Floats, new: Floats) -> Compared:
    def told(lab: Floats) -> tuple[float, float, float]:
        a, b = (float(lab[1]), float(lab[2])) if light.has_colour else (light.lab[1], light.lab[2])
        return float(lab[0]), a, b

    is_tint = 0 < patch.share < 1
    return Compared(patch.name, light.lab, told(old), told(new), light.has_colour, is_tint)


def _ghost(lights: Mapping[str, Light], target: Target) -> float | None:
    """The largest difference in L* between fields that are alike but for what stood there before."""
    found: dict[int, list[float]] = {}
    for name, light in lights.items():
        if target.by_name[name].kind is Kind.GHOST:
            found.setdefault(target.by_name[name].count, []).append(light.lab[0])
    spans = [max(some) - min(some) for some in found.values() if len(some) > 1]
    return max(spans) if spans else None


def _remarks(found: Fit) -> list[str]:
    """What should be known of a fit."""
    notes: list[str] = []
    if found.patches and found.residual() > LARGE_RESIDUAL:
        notes.append(
            f"one factor leaves {found.residual():.1f} L* on average, more than {LARGE_RESIDUAL:g}: "
            "read the patches again, and see whether the panel had settled"
        )
    if found.n is not None and found.n >= LARGEST_N - RESOLUTION:
        notes.append(
            f"the factor stands at {LARGEST_N:g}, the end of the search: something else darkens the tints"
        )
    if found.n == 1 and found.edge_px is not None and found.edge_px < 0:
        notes.append(
            "tints are lighter than their share of ink: dots lose at their edges, which no factor can tell"
        )
    return notes
