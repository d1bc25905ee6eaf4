"""Where the events of a strip lie: bars and their words in lanes that never overlap."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime

from wallbill.blocks.charts.timeaxis import TimeAxis
from wallbill.blocks.days.bars import BarStyle, mark_px
from wallbill.blocks.days.entries import Entry
from wallbill.blocks.days.lanes import Stretch, lane_count, most_that_fit
from wallbill.blocks.days.look import Look
from wallbill.blocks.days.type import Role
from wallbill.blocks.drawing.shapes import Box

_LEAST_BAR_PX = 5
_KEPT_SHARE = 0.5  # words of which less is left say nothing: judged by eye
_KEPT_LETTERS = 12  # as many say something of words of any length (by eye)
_LANE_GAP_PX = 3
_ABOVE_PX = 6  # between the axis and the first lane
_GUTTER_SHARE = 0.2  # of the width, for the calendars' names at the most


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
    def least_px(self) -> int:
        """The height of one lane with its air."""
        return _ABOVE_PX + self.bar_px + 1

    @property
    def lane_count(self) -> int:
        """How many lanes there is room for, at least one."""
        return max(1, (self.look.height_px - self.head_px - _ABOVE_PX + _LANE_GAP_PX) // self.lane_px)

    @property
    def gap_px(self) -> int:
        """Between a bar and words beside it."""
        return max(4, self.look.label_px // 4)

    @property
    def words_gap_px(self) -> int:
        """Between words and the next bar."""
        return 2 * self.gap_px + 2

    def x(self, moment: datetime) -> int:
        """The column of a moment."""
        return self.left_px + self.axis.x_px(moment)


@dataclass(frozen=True, slots=True)
class Placed:
    """An event on the strip: the box of its bar, its words with their box, and where these stand.

    ``air_px``: kept free behind words beside the bar. ``point``: it has no length. ``cut``: whether it goes on before and behind the strip.
    """

    entry: Entry
    box: Box
    cut: tuple[bool, bool]
    point: bool = False
    text: str = ""
    text_box: Box = (0, 0, 0, 0)
    inside: bool = False
    before: bool = False
    air_px: int = 0

    @property
    def bar_reach(self) -> Stretch:
        """The columns of the bar, with a pixel of air behind it."""
        return self.box[0], self.box[0] + self.box[2] + 1

    @property
    def reach(self) -> Stretch:
        """The columns that bar and words take, with the air behind the words."""
        left, right = self.bar_reach
        if self.text and not self.inside:
            words = self.text_box[0] + self.text_box[2] + self.air_px
            left, right = min(left, self.text_box[0]), max(right, words)
        return left, right

    def dropped(self, lane: int, stage: Stage) -> "Placed":
        """The same in a lane."""
        top = stage.head_px + _ABOVE_PX + lane * stage.lane_px
        box = (self.box[0], top, self.box[2], stage.bar_px)
        return replace(self, box=box, text_box=(self.text_box[0], top - 1, self.text_box[2], stage.bar_px))


def laid_out(
    found: Sequence[Entry], stage: Stage, *, by_calendar: bool, calendars: int
) -> tuple[tuple[Placed, ...], int]:
    """Every event that finds a lane, and how many find none.

    Words stand whole in the bar or beside it as long as there are lanes; then words beside bars are cut where the next
    bar needs their place; and where the bars alone are too many, those that leave the most others their place are left
    out.
    """
    marked = calendars > 1 and not by_calendar
    numbers = range(calendars) if by_calendar and calendars else ()
    parts = [[e for e in found if max(e.number, 0) == n] for n in numbers] or [list(found)]
    groups = [[_worded(_bar(entry, stage), stage, marked=marked) for entry in part] for part in parts]
    least = [lane_count([one.bar_reach for one in group]) for group in groups]
    wanted = [lane_count([one.reach for one in group]) for group in groups]
    room = stage.lane_count
    if sum(least) > room:
        room = max(1, room - 1)  # the foot says how many more there are
        counts = _dealt(room, wanted=least, first=[0] * len(groups))
        groups = [_kept(group, count) for group, count in zip(groups, counts, strict=True)]
    else:
        counts = _dealt(room - sum(least), wanted=wanted, first=least)
    placed: list[Placed] = []
    above = 0
    for group, count in zip(groups, counts, strict=True):
        packed = _packed(group, count, stage, marked=marked)
        placed += [one.dropped(above + lane, stage) for one, lane in packed]
        above += max((lane for _, lane in packed), default=-1) + 1
    return tuple(placed), len(found) - len(placed)


def _dealt(lanes_left: int, *, wanted: Sequence[int], first: Sequence[int]) -> list[int]:
    """How many lanes each group gets: what it has ``first``, then one by one to that which lacks the most."""
    given = list(first)
    for _ in range(lanes_left):
        lacks = [
            (0 if have else 1, want - have, -i)
            for i, (want, have) in enumerate(zip(wanted, given, strict=True))
        ]
        most = max(range(len(given)), key=lambda i: (lacks[i][1] > 0, lacks[i]))
        if lacks[most][1] <= 0:
            break
        given[most] += 1
    return given


def _kept(group: Sequence[Placed], count: int) -> list[Placed]:
    """As many of a group as ``count`` lanes hold."""
    return [group[i] for i in most_that_fit([one.bar_reach for one in group], count)] if count else []


def _packed(group: Sequence[Placed], count: int, stage: Stage, *, marked: bool) -> list[tuple[Placed, int]]:
    """Every event of a group with its lane, whose bars ``count`` lanes are known to hold.

    In order of start, each goes into the first lane that is free of bars and words. Where none is, one that is free of
    bars gives up words: that which keeps the most room for them.
    """
    placed: list[tuple[Placed, int]] = []
    last: list[int | None] = [None] * count
    for one in sorted(group, key=lambda one: (one.bar_reach[0], -one.box[2])):
        whole = [i for i, n in enumerate(last) if n is None or placed[n][0].reach[1] <= one.reach[0]]
        if not whole and one.before:
            one = _cut_behind(one, stage) or _worded(one, stage, marked=marked, beside=False)  # noqa: PLW2901  the same event, otherwise worded
            whole = [i for i, n in enumerate(last) if n is None or placed[n][0].reach[1] <= one.reach[0]]
        if whole:
            lane = whole[0]
        else:
            ends = [(placed[n][0].bar_reach[1], i) for i, n in enumerate(last) if n is not None]
            lane = min(ends)[1]
            number = last[lane]
            if number is not None:
                placed[number] = (_shortened(placed[number][0], one.reach[0], stage, marked=marked), lane)
        last[lane] = len(placed)
        placed.append((one, lane))
    return placed


def _shortened(one: Placed, limit_px: int, stage: Stage, *, marked: bool) -> Placed:
    """The event with its words cut before the column ``limit_px``; in the bar or gone where too little would be left."""
    behind = one.text_box[0]
    room = limit_px - stage.words_gap_px - behind
    text = stage.look.measure.cut(one.entry.event.summary, room_px=max(0, room), size_px=stage.look.label_px)
    if _is_told(text, one.entry.event.summary):
        return replace(one, text=text, text_box=(behind, 0, room, 0))
    return _worded(one, stage, marked=marked, beside=False)


def _cut_behind(one: Placed, stage: Stage) -> Placed | None:
    """The event with its words behind the bar, cut at the strip's end; None where too little of them would be left."""
    text, behind = one.entry.event.summary, one.box[0] + one.box[2] + stage.gap_px
    free = max(0, stage.right_px - behind)
    short = stage.look.measure.cut(text, room_px=free, size_px=stage.look.label_px)
    if not _is_told(short, text):
        return None
    return replace(
        one, text=short, text_box=(behind, one.text_box[1], free, one.text_box[3]), inside=False, before=False
    )


def _is_told(cut: str, whole: str) -> bool:
    """Whether enough is left of words that were cut for them to say something."""
    return len(cut) >= min(_KEPT_LETTERS, _KEPT_SHARE * len(whole))


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
    box = (left, 0, right - left, stage.bar_px)
    return Placed(entry, box, (start < first, end > last), point, air_px=stage.words_gap_px)


def _worded(one: Placed, stage: Stage, *, marked: bool, beside: bool = True) -> Placed:
    """The event with its words: whole in the bar, else beside it, else cut in the bar, else none."""
    look, event = stage.look, one.entry.event
    text = event.summary
    bare = replace(one, text="", text_box=(0, 0, 0, 0), inside=False, before=False)
    style = BarStyle(
        one.entry.number, solid=event.all_day, cut=one.cut, marked=marked and one.entry.number >= 0
    )
    left, room = (0, 0) if one.point else style.room_px(one.box)
    wide = look.text_px(text)
    if wide <= room:
        return replace(bare, text=text, text_box=(left, 0, room, 0), inside=True)
    if beside:
        behind = one.box[0] + one.box[2] + stage.gap_px
        if behind + wide <= stage.right_px:
            return replace(bare, text=text, text_box=(behind, 0, wide, 0))
        ahead = one.box[0] - stage.gap_px - wide
        if ahead >= stage.left_px:
            return replace(bare, text=text, text_box=(ahead, 0, wide, 0), before=True)
        if (short := _cut_behind(bare, stage)) is not None:
            return short
    cut = look.measure.cut(text, room_px=room, size_px=look.label_px)
    return replace(bare, text=cut, text_box=(left, 0, room, 0), inside=True) if cut else bare
