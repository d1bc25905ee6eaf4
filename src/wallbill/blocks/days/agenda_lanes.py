"""Where the events of a strip lie: bars and their words in lanes that never overlap."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime

from wallbill.blocks.charts.timeaxis import TimeAxis
from wallbill.blocks.days.bars import BarStyle, mark_px
from wallbill.blocks.days.entries import Entry
from wallbill.blocks.days.lanes import Stretch, lanes, most_that_fit
from wallbill.blocks.days.look import Look
from wallbill.blocks.days.type import Role
from wallbill.blocks.drawing.shapes import Box

_LEAST_BAR_PX = 5
_GAP_PX = 4  # between a bar and words beside it
_LANE_GAP_PX = 3
_GUTTER_SHARE = 0.25  # of the width, for the calendars' names at the most


@dataclass(frozen=True, slots=True)
class Stage:
    """The strip's room: the axis from the column ``left_px`` on, lanes below the row ``head_px``."""

    look: Look
    axis: TimeAxis
    left_px: int
    head_px: int

    @classmethod
    def of(cls, start: datetime, end: datetime, *, look: Look, head_px: int, names: Sequence[str]) -> "Stage":
        """The stage for a stretch (aware); ``names``: of the calendars that stand at its left."""
        widest = max((look.text_px(name, role=Role.STRONG) for name in names), default=0)
        left = min(widest + 8, int(look.width_px * _GUTTER_SHARE)) if widest else 0
        axis = TimeAxis(
            start.astimezone(UTC), end.astimezone(UTC), look.wording.zone, max(2, look.width_px - left)
        )
        return cls(look, axis, left, head_px)

    @property
    def right_px(self) -> int:
        """The first column right of the axis."""
        return self.left_px + self.axis.width_px

    @property
    def bar_px(self) -> int:
        """Height of a bar: a line of type, with room for what reaches below the line."""
        return self.look.line_height_px + 2

    @property
    def lane_px(self) -> int:
        """From one lane to the next."""
        return self.bar_px + _LANE_GAP_PX

    @property
    def lane_count(self) -> int:
        """How many lanes there is room for, at least one."""
        return max(1, (self.look.height_px - self.head_px - 6 + _LANE_GAP_PX) // self.lane_px)

    def x(self, moment: datetime) -> int:
        """The column of a moment."""
        return self.left_px + self.axis.x_px(moment)


@dataclass(frozen=True, slots=True)
class Placed:
    """An event on the strip: the box of its bar, its words with their box, and where these stand.

    ``point``: it has no length. ``cut``: whether it goes on before and behind the strip.
    """

    entry: Entry
    box: Box
    cut: tuple[bool, bool]
    point: bool = False
    text: str = ""
    text_box: Box = (0, 0, 0, 0)
    inside: bool = False
    before: bool = False

    @property
    def reach(self) -> Stretch:
        """The columns that bar and words take, with the gap to the next."""
        left, right = self.box[0], self.box[0] + self.box[2]
        if self.text and not self.inside:
            left, right = min(left, self.text_box[0]), max(right, self.text_box[0] + self.text_box[2])
        return left, right + _GAP_PX

    def dropped(self, lane: int, stage: Stage) -> "Placed":
        """The same in a lane."""
        top = stage.head_px + 6 + lane * stage.lane_px
        box = (self.box[0], top, self.box[2], stage.bar_px)
        return replace(self, box=box, text_box=(self.text_box[0], top - 1, self.text_box[2], stage.bar_px))


def laid_out(
    found: Sequence[Entry], stage: Stage, *, by_calendar: bool, calendars: int
) -> tuple[tuple[Placed, ...], int]:
    """Every event that finds a lane, and how many find none.

    First with all words whole, in the bar or beside it; where the lanes are too few, with words in bars only; and
    where these are still too few, without the events that leave the most others their place.
    """
    marked = calendars > 1 and not by_calendar
    groups = (
        [[e for e in found if e.number in {n, -1 if n == 0 else n}] for n in range(max(1, calendars))]
        if by_calendar
        else [list(found)]
    )
    whole = [_with_words(group, stage, marked=marked, beside=True) for group in groups]
    if _lanes_of(whole) <= stage.lane_count:
        return _in_lanes(whole, stage), 0
    short = [_with_words(group, stage, marked=marked, beside=False) for group in groups]
    if _lanes_of(short) <= stage.lane_count:
        return _in_lanes(short, stage), 0
    room = max(
        1, stage.lane_count - (1 if stage.lane_count > 1 else 0)
    )  # the foot says how many more there are
    kept = _shared(short, room)
    return _in_lanes(kept, stage), len(found) - sum(len(group) for group in kept)


def _lanes_of(groups: Sequence[Sequence[Placed]]) -> int:
    return sum(max(lanes([one.reach for one in group]), default=-1) + 1 for group in groups)


def _shared(groups: Sequence[Sequence[Placed]], room: int) -> list[list[Placed]]:
    """The groups cut down to ``room`` lanes, lanes given one by one to the group that wants most more of them."""
    wanted = [_lanes_of([group]) for group in groups]
    given = [0] * len(groups)
    for _ in range(room):
        most = max(
            range(len(groups)), key=lambda i: (wanted[i] - given[i] if given[i] else wanted[i] * 100, -i)
        )
        given[most] += 1
    return [
        [group[i] for i in most_that_fit([one.reach for one in group], count)] if count else []
        for group, count in zip(groups, given, strict=True)
    ]


def _in_lanes(groups: Sequence[Sequence[Placed]], stage: Stage) -> tuple[Placed, ...]:
    placed: list[Placed] = []
    above = 0
    for group in groups:
        numbers = lanes([one.reach for one in group])
        placed += [one.dropped(above + lane, stage) for one, lane in zip(group, numbers, strict=True)]
        above += max(numbers, default=-1) + 1
    return tuple(placed)


def _with_words(group: Sequence[Entry], stage: Stage, *, marked: bool, beside: bool) -> list[Placed]:
    """Bars and their words, not yet in lanes."""
    return [_worded(_bar(entry, stage), stage, marked=marked, beside=beside) for entry in group]


def _bar(entry: Entry, stage: Stage) -> Placed:
    start, end = entry.span(stage.look.wording.zone)
    first, last = max(start, stage.axis.start), min(end, stage.axis.end)
    left, right = stage.x(first), stage.x(last)
    point = start == end
    if point:
        half = (mark_px(stage.bar_px) + 4) // 2
        left, right = left - half, left + half + 1
    elif right - left - 1 < _LEAST_BAR_PX:
        right = left + _LEAST_BAR_PX
    else:
        right -= 1  # a pixel of air to what follows at once
    right = min(right, stage.right_px)
    left = max(stage.left_px, min(left, right - 1))
    return Placed(entry, (left, 0, right - left, stage.bar_px), (start < first, end > last), point)


def _worded(one: Placed, stage: Stage, *, marked: bool, beside: bool) -> Placed:
    """The event with its words: whole in the bar, else beside it, else cut in the bar, else none."""
    look, event = stage.look, one.entry.event
    text = event.summary
    style = BarStyle(
        one.entry.number, solid=event.all_day, cut=one.cut, marked=marked and one.entry.number >= 0
    )
    left, room = (0, 0) if one.point else style.room_px(one.box)
    wide = look.text_px(text)
    if wide <= room:
        return replace(one, text=text, text_box=(left, 0, room, 0), inside=True)
    if beside or one.point:
        behind = one.box[0] + one.box[2] + _GAP_PX
        if behind + wide <= stage.right_px:
            return replace(one, text=text, text_box=(behind, 0, wide, 0))
        ahead = one.box[0] - _GAP_PX - wide
        if ahead >= stage.left_px:
            return replace(one, text=text, text_box=(ahead, 0, wide, 0), before=True)
    cut = look.measure.cut(text, room_px=room, size_px=look.label_px)
    return replace(one, text=cut, text_box=(left, 0, room, 0), inside=True) if cut else one
