"""Round values for an axis.

Source: Talbot, Lin and Hanrahan, "An Extension of Wilkinson's Algorithm for Positioning Tick Labels on Axes",
IEEE TVCG 16(6), 2010: the scores, their weights and the list of nice numbers. Two choices differ, see
``docs/decisions/0080-ticks.md``: labels are always multiples of their step (the paper's skip is held at 1), and
the arithmetic is exact, on fractions.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction
from functools import lru_cache
from types import MappingProxyType
from typing import NamedTuple

_NICE = tuple(Fraction(q) for q in ("1", "5", "2", "2.5", "4", "3"))  # in the paper's order of preference
_SIMPLICITY, _COVERAGE, _DENSITY, _LEGIBILITY = 0.25, 0.2, 0.5, 0.05  # the paper's weights
_FLAT_SHARE = (
    1e-9  # a range smaller than this share of its values is no range: floats could not tell its labels apart
)
_LEAST_RANGE = 1e-30  # no quantity on a wall is read to so many places
_SLACK = 1e-9  # so that rounding never cuts off a branch that would tie
MINUS = "\u2212"
_MOST_LABELS = 50


def worded(value: float, *, decimals: int) -> str:
    """``value`` rounded to so many places, with a true minus sign; "0" where nothing but zeros is left."""
    text = f"{abs(value):.{decimals}f}"
    if float(text) == 0:
        return "0"
    return MINUS + text if value < 0 else text


class Cover(StrEnum):
    """How the labels stand to the values: whatever scores best, all outside the values, or all inside them."""

    ANY = "any"
    LOOSE = "loose"
    INSIDE = "inside"


_REACH = MappingProxyType(
    {Cover.ANY: (0.0, math.inf), Cover.LOOSE: (1 - _SLACK, math.inf), Cover.INSIDE: (0.0, 1 + _SLACK)}
)  # of the range, by first to last label


@dataclass(frozen=True, slots=True)
class Ticks:
    """Values in rising order, one ``step`` apart; ``decimals``: the places that print every one exactly."""

    values: tuple[float, ...]
    step: Fraction
    decimals: int

    def label(self, value: float) -> str:
        """``value`` with this scale's places and a true minus sign; zero is "0" without places or sign."""
        return worded(value, decimals=self.decimals)

    @property
    def labels(self) -> tuple[str, ...]:
        """Every value as `label` prints it."""
        return tuple(self.label(value) for value in self.values)


class _Scale(NamedTuple):
    """A candidate: ``many`` labels from ``first`` times ``step``; ``rank``: place of its nice number, from 0."""

    first: int
    many: int
    step: Fraction
    rank: int

    @property
    def ends(self) -> tuple[float, float]:
        """First and last label, each the float nearest to the exact value."""
        over, under = self.step.numerator, self.step.denominator
        return self.first * over / under, (self.first + self.many - 1) * over / under


@dataclass(frozen=True, slots=True)
class _Wish:
    """What is asked for: the range, how many labels, and whether steps must be whole."""

    low: float
    high: float
    count: int
    whole: bool
    cover: Cover


def ticks(low: float, high: float, *, count: int = 5, whole: bool = False, cover: Cover = Cover.ANY) -> Ticks:
    """Round values for the range ``low`` to ``high``, about ``count`` of them.

    ``whole``: steps are whole numbers, for values that are read as such. ``cover``: with `Cover.ANY` the best may
    stop a little inside or outside the range; `Cover.LOOSE` encloses it; `Cover.INSIDE` stays within it, and may
    then give a single value, or none where no round value lies inside.
    Raises ValueError for a range that is not finite or for fewer than two labels.
    """
    if not (math.isfinite(low) and math.isfinite(high)):
        raise ValueError(f"a scale needs finite ends, got {low} and {high}")
    if count < 2:
        raise ValueError(f"a scale has at least two labels, got {count}")
    low, high = _opened(min(low, high), max(low, high))
    wish = _Wish(low, high, min(count, _MOST_LABELS), whole, cover)
    best = _best(wish)
    if best is None:
        return _few(wish)
    return _as_ticks(best)


def _opened(low: float, high: float) -> tuple[float, float]:
    """The range, widened where it is too flat to hold labels that differ."""
    size = max(abs(low), abs(high))
    if not math.isfinite(high - low):
        raise ValueError(f"the range from {low} to {high} is too wide for a scale")
    if high - low > max(size * _FLAT_SHARE, _LEAST_RANGE):
        return low, high
    half = size / 20 if size > _LEAST_RANGE else 0.5
    return (low + high) / 2 - half, (low + high) / 2 + half


def _as_ticks(scale: _Scale) -> Ticks:
    values = tuple(float((scale.first + i) * scale.step) + 0.0 for i in range(scale.many))
    return Ticks(values, scale.step, _decimals(scale.step))


def _decimals(step: Fraction) -> int:
    """Decimal places that print every multiple of ``step`` exactly; a step's divisors are 2 and 5 only."""
    places = 0
    while (step * 10**places).denominator != 1:
        places += 1
    return places


def _few(wish: _Wish) -> Ticks:
    """The one roundest value inside the range, or none: for `Cover.INSIDE` when two do not fit."""
    power = math.ceil(math.log10(wish.high - wish.low))
    step = Fraction(10) ** (max(power, 0) if wish.whole else power)
    for nice in (Fraction(1), Fraction(1, 2), Fraction(1, 5)):
        size = step * nice
        first = math.ceil(wish.low / float(size))
        if wish.low <= float(first * size) <= wish.high and (not wish.whole or size.denominator == 1):
            return Ticks((float(first * size) + 0.0,), size, _decimals(size))
    return Ticks((), step, _decimals(step))


def _best(wish: _Wish) -> _Scale | None:
    """The candidate with the best score; branches that cannot win are cut off as in the paper."""
    best: _Scale | None = None
    best_score = -math.inf
    for rank in range(len(_NICE)):
        simplest = _simplicity_at_best(rank)
        for count in range(2, _MOST_LABELS * 2):
            if _score(simplest, 1.0, _density_at_best(count, wish.count)) < best_score:
                if count > wish.count:
                    break
                continue
            for step in _steps(wish, rank, count=count, beaten=best_score):
                for scale in _placed(wish, _Scale(0, count, step, rank)):
                    score = _total(scale, wish)
                    if score > best_score:
                        best, best_score = scale, score
    return best


def _steps(wish: _Wish, rank: int, *, count: int, beaten: float) -> Iterator[Fraction]:
    """Steps with the nice number of this rank from the closest fit up, without those that cannot beat a score."""
    nice, span = float(_NICE[rank]), wish.high - wish.low
    power = math.floor(math.log10(span / (count + 1) / nice))
    if wish.whole:
        power = max(power, 0)
    for exponent in range(power, power + 3):
        if _bound(wish, rank, count=count, size=nice * 10.0**exponent) <= beaten:
            continue
        step = _step(rank, exponent)
        if not wish.whole or step.denominator == 1:
            yield step


@lru_cache(maxsize=256)
def _step(rank: int, exponent: int) -> Fraction:
    return _NICE[rank] * Fraction(10) ** exponent


def _bound(wish: _Wish, rank: int, *, count: int, size: float) -> float:
    """What ``count`` labels a step of ``size`` apart cannot score more than, wherever the first stands."""
    span = wish.high - wish.low
    share = (count - 1) * size / span
    if not _REACH[wish.cover][0] <= share <= _REACH[wish.cover][1]:
        return -math.inf
    coverage = 1 - 25 * (1 - share) ** 2  # as far outside or inside at either end
    ratio = max(1.0, share) * span / (size * (wish.count - 1))
    density = 2 - ratio if ratio > 1 else 1.0
    return _score(_simplicity_at_best(rank), coverage, density) + _SLACK


def _placed(wish: _Wish, scale: _Scale) -> Iterator[_Scale]:
    """The scale from every first label from which it touches the range."""
    size = float(scale.step)
    lowest = math.floor(wish.high / size) - (scale.many - 1)
    highest = math.ceil(wish.low / size)
    for first in range(min(lowest, highest), max(lowest, highest) + 1):
        moved = _Scale(first, scale.many, scale.step, scale.rank)
        if _allowed(moved, wish):
            yield moved


def _allowed(scale: _Scale, wish: _Wish) -> bool:
    if wish.cover is Cover.ANY:
        return True
    first, last = scale.ends
    if wish.cover is Cover.LOOSE:
        return first <= wish.low and last >= wish.high
    return first >= wish.low and last <= wish.high


def _score(simplicity: float, coverage: float, density: float) -> float:
    return _SIMPLICITY * simplicity + _COVERAGE * coverage + _DENSITY * density + _LEGIBILITY


def _total(scale: _Scale, wish: _Wish) -> float:
    first, last = scale.ends
    span = wish.high - wish.low
    off = ((wish.high - last) / span * 10) ** 2 + ((wish.low - first) / span * 10) ** 2
    coverage = 1 - 0.5 * off
    simplicity = _simplicity_at_best(scale.rank) - (0 if first <= 0 <= last else 1)
    got = (scale.many - 1) / (last - first)
    asked = (wish.count - 1) / (max(last, wish.high) - min(first, wish.low))
    density = 2 - max(got / asked, asked / got)
    return _score(simplicity, coverage, density)


def _simplicity_at_best(rank: int) -> float:
    """1 - rank/(n-1) - skip + 1 for zero among the labels, with the skip held at 1."""
    return 1 - rank / (len(_NICE) - 1)


def _density_at_best(count: int, asked: int) -> float:
    return 2 - (count - 1) / (asked - 1) if count >= asked else 1.0
