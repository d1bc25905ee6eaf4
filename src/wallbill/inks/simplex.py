"""Coverages of inks for colours: inside the inks' hull the calm mix, outside it the nearest mix.

Colours mix in a straight line in the *mixing space*: cone-like light raised to 1/n. Nearness is measured in
OKLab, where distances are near to what eyes see. The nearest mix is found exactly (no samples, so no
contours) by Gauss-Newton steps: each linearises OKLab at the present mix and projects onto every edge and
triangle of inks. The result varies smoothly with the colour.
"""

from dataclasses import dataclass
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from wallbill.inks.colour import LMS_TO_OKLAB, OKLAB_TO_LMS, Floats

CHROMA_WEIGHT = 0.55  # of a and b against L when a colour must give way; a choice, compared by eye
STEPS = 8
_TIE = 1e-8  # of a squared OKLab distance: what counts as equally near, for a cost of 1
_STILL = 1e-7  # coverages that change less than this have arrived
_DARK = 1e-4  # light below which the cube root is too steep to be linearised
_FLAT = 1e-12  # a simplex whose Gram determinant is smaller holds no area


@dataclass(frozen=True, slots=True, eq=False)
class Mixer:
    """Inks to mix: ``lms`` cone-like light (inks, 3), ``costs`` of a dot (inks,), ``n`` Yule-Nielsen."""

    lms: Floats
    costs: Floats
    n: float = 1.0

    @property
    def points(self) -> Floats:
        """The inks in the mixing space, shape (inks, 3)."""
        points: Floats = self.lms ** (1 / self.n)
        return points

    @property
    def bend(self) -> float:
        """OKLab's cube root as a power of the mixing space."""
        return self.n / 3


def coverages(oklab: Floats, mixer: Mixer) -> Floats:
    """Coverage of each ink, shape (colours, inks), each row sums to 1, for OKLab colours (colours, 3).

    Inside the hull the mix is exact and of least cost; outside it is the nearest in OKLab.
    """
    result = np.zeros((len(oklab), len(mixer.lms)))
    roots = oklab @ OKLAB_TO_LMS.T
    inside = _fill_inside(result, roots, mixer)
    outside = np.flatnonzero(~inside)
    if len(outside):
        result[outside] = _nearest(roots[outside], mixer)
    return result


def _fill_inside(result: Floats, roots: Floats, mixer: Mixer) -> NDArray[np.bool_]:
    """Writes the calm mix of each colour that lies in a tetrahedron of inks; returns which did."""
    points = mixer.points
    place = np.sign(roots) * np.abs(roots) ** (1 / mixer.bend)
    best = np.full(len(roots), np.inf)
    for corners in combinations(range(len(points)), 4):
        sides = points[list(corners[1:])] - points[corners[0]]
        if abs(np.linalg.det(sides)) < 1e-9:
            continue
        weights = np.empty((len(roots), 4))
        weights[:, 1:] = (place - points[corners[0]]) @ np.linalg.inv(sides)
        weights[:, 0] = 1 - weights[:, 1:].sum(axis=1)
        cost = weights @ mixer.costs[list(corners)]
        better = np.flatnonzero((weights.min(axis=1) >= -1e-7) & (cost < best - 1e-12))
        best[better] = cost[better]
        result[better] = 0
        kept = np.maximum(weights[better], 0)
        result[np.ix_(better, np.array(corners))] = kept / kept.sum(axis=1, keepdims=True)
    found: NDArray[np.bool_] = np.isfinite(best)
    return found


@dataclass(slots=True, eq=False)
class _Best:
    """The nearest mix so far of each colour: its distance, the simplex it lies on, its two weights."""

    costs: Floats
    distance: Floats
    simplex: NDArray[np.int64]
    first: Floats
    second: Floats

    def offer(
        self, simplex: tuple[int, tuple[int, ...]], distance: Floats, weights: tuple[Floats, Floats]
    ) -> None:
        """Takes the mixes that are nearer than what there is, or as near and calmer.

        ``simplex``: its number and its corners. Inks on a line or in a plane, as greys are, give many mixes of
        one light: there the cost decides.
        """
        number, corners = simplex
        cost = self.costs[list(corners)]
        distance = distance + _TIE * (cost[0] + weights[0] * (cost[1] - cost[0]))
        if len(corners) == 3:
            distance += _TIE * weights[1] * (cost[2] - cost[0])
        better = distance < self.distance
        np.copyto(self.distance, distance, where=better)
        np.copyto(self.simplex, number, where=better)
        np.copyto(self.first, weights[0], where=better)
        np.copyto(self.second, weights[1], where=better)


def _nearest(roots: Floats, mixer: Mixer) -> Floats:
    """Coverages of the mix that is nearest in OKLab to each colour, given as cube roots of light (n, 3)."""
    points = mixer.points
    metric = np.diag((1.0, CHROMA_WEIGHT, CHROMA_WEIGHT)) @ LMS_TO_OKLAB
    simplices = tuple(combinations(range(len(points)), 2)) + tuple(combinations(range(len(points)), 3))
    weights = _start(roots, points, mixer.bend)
    for _ in range(STEPS):
        here = np.maximum(weights @ points, _DARK)
        bent = here**mixer.bend
        slope = mixer.bend * bent / here
        wanted = (slope * here - bent + roots) @ metric.T
        seen = [(slope * point) @ metric.T for point in points]
        before, weights = weights, _project(wanted, seen, (simplices, mixer.costs))
        if np.abs(weights - before).max() < _STILL:
            break
    return weights


def _start(roots: Floats, points: Floats, bend: float) -> Floats:
    """A first mix (n, inks): of the darkest and the lightest ink, as light as the colour."""
    lights = points.sum(axis=1)
    dark, light = int(np.argmin(lights)), int(np.argmax(lights))
    wanted = np.clip(roots, 0, None).mean(axis=1) ** (1 / bend)
    low, high = points[dark].mean(), points[light].mean()
    share = np.clip((wanted - low) / max(high - low, 1e-9), 0, 1)
    weights = np.zeros((len(roots), len(points)))
    weights[:, dark], weights[:, light] = 1 - share, share
    return weights


def _project(wanted: Floats, seen: list[Floats], onto: tuple[tuple[tuple[int, ...], ...], Floats]) -> Floats:
    """Weights (n, inks) of the point of all simplices that is nearest to ``wanted`` (n, 3).

    ``seen``: the corners as each colour sees them, one array (n, 3) an ink. ``onto``: the simplices, and the
    cost of a dot of each ink.
    """
    simplices, costs = onto
    count, inks = len(wanted), len(seen)
    gram = {(i, j): np.einsum("nc,nc->n", seen[i], seen[j]) for i in range(inks) for j in range(i, inks)}
    toward = [np.einsum("nc,nc->n", corner, wanted) for corner in seen]
    best = _Best(
        costs, np.full(count, np.inf), np.zeros(count, dtype=np.int64), np.zeros(count), np.zeros(count)
    )
    for number, corners in enumerate(simplices):
        _offer(best, (number, corners), (gram, toward))
    weights = np.zeros((count, inks))
    rows = np.arange(count)
    table = np.array([(*c, c[0]) if len(c) == 2 else c for c in simplices])[best.simplex]
    weights[rows, table[:, 1]] = best.first
    weights[rows, table[:, 2]] += best.second
    weights[rows, table[:, 0]] += 1 - best.first - best.second
    return weights


def _offer(
    best: _Best,
    simplex: tuple[int, tuple[int, ...]],
    products: tuple[dict[tuple[int, int], Floats], list[Floats]],
) -> None:
    """Projects onto one edge (cut at its ends) or one triangle (only where the foot lies within it).

    Distances leave out the square of the wanted point itself, which is the same for every simplex.
    """
    gram, toward = products
    corners = simplex[1]
    i, j = corners[0], corners[1]
    base = gram[i, i] - 2 * toward[i]
    one = gram[i, i] - 2 * gram[i, j] + gram[j, j]
    to_one = toward[j] - toward[i] - gram[i, j] + gram[i, i]
    if len(corners) == 2:
        share = np.clip(to_one / np.maximum(one, _FLAT), 0, 1)
        best.offer(simplex, base + share * (share * one - 2 * to_one), (share, np.zeros_like(share)))
        return
    k = corners[2]
    two = gram[i, i] - 2 * gram[i, k] + gram[k, k]
    both = gram[j, k] - gram[i, j] - gram[i, k] + gram[i, i]
    to_two = toward[k] - toward[i] - gram[i, k] + gram[i, i]
    area = one * two - both * both
    scale = 1 / np.where(area > _FLAT, area, np.inf)
    first, second = (two * to_one - both * to_two) * scale, (one * to_two - both * to_one) * scale
    within = (first >= 0) & (second >= 0) & (first + second <= 1) & (area > _FLAT)
    distance = np.where(within, base - first * to_one - second * to_two, np.inf)
    best.offer(simplex, distance, (first, second))
