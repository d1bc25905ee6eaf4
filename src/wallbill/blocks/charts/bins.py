"""The bins of a histogram: their width by a published rule, made round, and how many values fall into each."""

import math
from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from wallbill.blocks.charts.summary import Quartiles, finite, quartiles
from wallbill.errors import SheetError

_ROUND = tuple(Fraction(part) for part in ("1", "2", "2.5", "5", "10"))


@dataclass(frozen=True, slots=True)
class Bins:
    """How often values fall between each two ``edges``: from the lower one up to, not at, the upper.

    The last bin holds its upper edge too, as in `numpy.histogram`. There is one count fewer than edges.
    ``width``: of every bin, exactly; edges are its multiples.
    """

    edges: tuple[float, ...]
    counts: tuple[int, ...]
    width: Fraction


def freedman_diaconis(values: Sequence[float]) -> float:
    """The width of bins: twice the distance of the quartiles over the cube root of the number of values.

    Source: Freedman and Diaconis, Zeitschrift für Wahrscheinlichkeitstheorie 57, 1981; quartiles by linear
    interpolation. Where the quartiles are equal, Sturges' rule (Journal of the American Statistical Association 21,
    1926): the range over 1 + log2 of the number. 0 where all values are equal. Raises ValueError for no values.
    """
    lower, _, upper = quartiles(values, Quartiles.LINEAR)
    if upper > lower:
        return float(2 * (upper - lower) / math.cbrt(len(values)))
    return (max(values) - min(values)) / (1 + math.log2(len(values)))


def bins(values: Sequence[float | None], *, most: int = 40, step: float | None = None) -> Bins | None:
    """Round bins that hold every finite value, ``most`` of them, or two, at the most; None where there is no value.

    ``step``: their width, as it is said; None: that of `freedman_diaconis`, made the nearest of 1, 2, 2.5 or 5 times
    a power of ten, and of whole numbers where all values are whole. Wider where there would be too many.
    Raises `SheetError` for a width that is not above 0 or makes more than a thousand bins.
    """
    ordered = finite(values)
    if not ordered:
        return None
    if step is not None:
        if not (step > 0 and math.isfinite(step)):
            raise SheetError(f"bins have a width above 0, got {step}", mend="Write step=5, or leave it out.")
        return _counted(ordered, Fraction(str(step)))
    least = 1.0 if all(value == int(value) for value in ordered) else 0.0
    wide = max(freedman_diaconis(ordered), least, abs(ordered[-1]) * 1e-12) or 1.0
    width = _nearest(wide)
    while _span(ordered, width)[1] > max(most, 2):  # nought is always an edge, so two may be the fewest
        width = _next(width)
    return _counted(ordered, width)


def _nearest(wide: float) -> Fraction:
    """The round number nearest to ``wide`` by proportion."""
    power = Fraction(10) ** math.floor(math.log10(wide))
    return min((part * power for part in _ROUND), key=lambda one: abs(math.log(one / Fraction(wide))))


def _next(width: Fraction) -> Fraction:
    """The next greater round number."""
    power = Fraction(10) ** math.floor(math.log10(width))
    return min(part * scale for part in _ROUND for scale in (power, power * 10) if part * scale > width)


def _span(ordered: Sequence[float], width: Fraction) -> tuple[int, int]:
    """The number of the first edge, counted in widths from 0, and how many bins there are from there."""
    first = math.floor(Fraction(ordered[0]) / width)
    last = math.ceil(Fraction(ordered[-1]) / width)
    return first, max(1, last - first)


_MOST = 1000


def _counted(ordered: Sequence[float], width: Fraction) -> Bins:
    first, count = _span(ordered, width)
    if count > _MOST:
        raise SheetError(
            f"there would be {count} bins of a width of {float(width):g}, the most is {_MOST}",
            mend="Write a larger step, or leave it out.",
        )
    edges = tuple(float((first + i) * width) + 0.0 for i in range(count + 1))
    counts = [0] * count
    for value in ordered:
        counts[min(count - 1, max(0, bisect_right(edges, value) - 1))] += 1
    return Bins(edges, tuple(counts), width)
