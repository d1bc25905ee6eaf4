"""Matching by eye: which bar of clusters looks as light as the checker around it, and what that says of dots.

Clusters of four pixels and more are taken to give their share of light (Murray-Davies); the checker of single pixels
looks darker than half by what its dots gain. The bar that matches tells how much, and Yule and Nielsen's factor is the
one that gives the checker that light.
"""

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType

from wallbill.errors import FaultList, PanelError
from wallbill.inks import halftone
from wallbill.inks.calibration.patches import Kind
from wallbill.inks.calibration.target import Target
from wallbill.inks.inkset import measured_xyz
from wallbill.panels.model import Ink
from wallbill.places.words import did_you_mean

LARGEST_N = 4.0
"""Beyond this no fit goes: nearly all that light scattered below the ink could do."""

_STEPS = 40  # halvings: far below what an eye can tell
_MATCH = re.compile(r"\s*([^=]+?)\s*=\s*(\d+(?:[.,]\d+)?)\s*")


@dataclass(frozen=True, slots=True)
class Match:
    """What an eye found. ``number``: of the bar, or between two. ``share``: coverage of the bars that match, 0 to 1."""

    ink: str
    number: float
    share: float


def read_matches(asked: Sequence[str], target: Target) -> tuple[Match, ...]:
    """Matches as they were typed, such as ``black=7``; ``black=7.5`` lies between two bars.

    Raises `FaultList` for inks that have no bars and numbers that no bar has.
    """
    bars = _bars(target)
    matches: list[Match] = []
    faults: list[PanelError] = []
    for text in asked:
        try:
            matches.append(_match(text, bars))
        except PanelError as fault:
            faults.append(fault)
    if faults:
        raise FaultList(tuple(faults))
    return tuple(matches)


def _bars(target: Target) -> Mapping[str, tuple[float, ...]]:
    """Coverages of the bars of each ink, in the order of their numbers."""
    found: dict[str, list[float]] = {}
    for patch in target.patches:
        if patch.kind is Kind.BAR:
            found.setdefault(target.inks[patch.ink].name, []).append(patch.share)
    return MappingProxyType({name: tuple(shares) for name, shares in found.items()})


def _match(text: str, bars: Mapping[str, tuple[float, ...]]) -> Match:
    parts = _MATCH.fullmatch(text)
    if parts is None:
        raise PanelError(f"--match {text!r} is no match", mend="Write INK=NUMBER, such as black=7.")
    name, number = parts[1].casefold(), float(parts[2].replace(",", "."))
    if name not in bars:
        raise PanelError(
            f"--match {text!r}: the target has no bars of {name!r}", mend=did_you_mean(name, bars)
        )
    shares = bars[name]
    if not 1 <= number <= len(shares):
        raise PanelError(
            f"--match {text!r}: there is no bar {number:g}", mend=f"Give a number of 1 to {len(shares)}."
        )
    below = min(int(number), len(shares) - 1)
    share = shares[below - 1] + (number - below) * (shares[below] - shares[below - 1])
    return Match(name, number, share)


def n_of_share(share: float, ink: float, white: float) -> float:
    """The factor, 1 to `LARGEST_N`, with which a checker of half ``ink`` looks like ``share`` of it without any.

    ``ink``, ``white``: luminances of the two, 0 to 1.
    """
    wanted = float(halftone.mix((share, 1 - share), ((ink,), (white,)))[0])
    low, high = 1.0, LARGEST_N
    for _ in range(_STEPS):
        middle = (low + high) / 2
        if float(halftone.mix((0.5, 0.5), ((ink,), (white,)), n=middle)[0]) > wanted:
            low = middle
        else:
            high = middle
    return (low + high) / 2


def n_of_matches(matches: Iterable[Match], inks: tuple[Ink, ...], *, white: int) -> float:
    """The panel's factor from matches of its inks, each as sure as its ink differs from white in luminance.

    ``white``: place of white in ``inks``.
    """
    light = {ink.name: float(y) for ink, y in zip(inks, measured_xyz(inks)[:, 1], strict=True)}
    paper = light[inks[white].name]
    told = [
        (n_of_share(match.share, light[match.ink], paper), abs(paper - light[match.ink])) for match in matches
    ]
    return sum(n * weight for n, weight in told) / sum(weight for _, weight in told)
