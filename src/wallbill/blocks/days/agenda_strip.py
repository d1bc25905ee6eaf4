"""Events of several calendars side by side on an axis of hours or days, each a bar as long as it lasts."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime

import numpy as np
from markupsafe import Markup

from wallbill.blocks.charts.timeaxis import Step
from wallbill.blocks.days.agenda_lanes import Placed, Stage, laid_out
from wallbill.blocks.days.bars import BarStyle, lay_bar, mark, mark_px
from wallbill.blocks.days.entries import Entry, entries
from wallbill.blocks.days.look import Look
from wallbill.blocks.days.type import Composed, Role, Text, composed_markup, spread
from wallbill.blocks.drawing import shapes
from wallbill.blocks.drawing.grid import INK, MUTED, Sketch
from wallbill.blocks.drawing.labels import Align
from wallbill.blocks.drawing.markup import Tint
from wallbill.blocks.drawing.patterns import Hatch
from wallbill.errors import SheetError
from wallbill.facts.agenda import Agenda
from wallbill.inks.impression import Mask

_TICK_PX = 4
_DAY_GAP_PX = 4
_DAY_PATTERNS = ("EEEEdMMMM", "MMMEd", "EEEd", "d")
_NOW_PX = 4  # half the width of the triangle at the axis
_LEAST_NOW_PX = 8  # a shorter piece of the line reads as a speck


@dataclass(frozen=True, slots=True)
class AgendaStrip:
    """What a strip shows: events that touch the time from ``start`` to ``end`` (aware).

    ``by_calendar``: each calendar has lanes of its own under its name; else all are packed together.
    """

    agendas: tuple[Agenda, ...]
    start: datetime
    end: datetime
    holidays: tuple[Agenda, ...] = ()
    by_calendar: bool = False


def agenda_strip(strip: AgendaStrip, *, look: Look) -> Markup:
    """The strip as HTML: days and hours along the top, below them a bar for every event, in as few lanes as can be.

    What lasts all day is filled, what has hours is outlined, what is not settled is hatched; an event that goes on
    beyond the strip ends in a point. Its words stand in the bar where they fit, else behind it, else before it; where
    the lanes are too few for that, they are cut, and what finds no lane is counted at the foot.
    """
    return composed_markup(agenda_composed(strip, look=look), look.palette)


def agenda_composed(strip: AgendaStrip, *, look: Look) -> Composed:
    """What is behind `agenda_strip`."""
    found = [
        entry
        for entry in entries(strip.agendas, strip.holidays, look.wording.zone)
        if _touches(entry, strip, look)
    ]
    stage = Stage.of(strip.start, strip.end, look=look, head_px=_head_px(strip, look), names=_gutter(strip))
    sketch = Sketch(*look.size)
    placed, hidden = laid_out(found, stage, by_calendar=strip.by_calendar, calendars=len(strip.agendas))
    foot = max((one.box[1] + one.box[3] + 5 for one in placed), default=stage.head_px + 5)
    more = _more(stage, hidden)
    axis = _axis(sketch, stage, foot_px=foot, taken=more)
    names = _names(sketch, stage, strip, placed)
    area = shapes.nothing(sketch.size)
    several = len(strip.agendas) > 1 and not strip.by_calendar
    texts: list[Text] = []
    for one in placed:
        texts += _event(sketch, stage, one, marked=several, hatched=area)
    _now(sketch, stage, texts, foot_px=foot)
    tints = (Tint(area, Hatch.RISING_25),) if area.any() else ()
    return Composed(
        sketch.grid(), (*axis, *names, *texts, *more), tints, look.title or _words(found, strip, look)
    )


def _touches(entry: Entry, strip: AgendaStrip, look: Look) -> bool:
    start, end = entry.span(look.wording.zone)
    return (start < strip.end and end > strip.start) or (start == end and strip.start <= start < strip.end)


def _gutter(strip: AgendaStrip) -> tuple[str, ...]:
    return tuple(agenda.name for agenda in strip.agendas) if strip.by_calendar else ()


def _head_px(strip: AgendaStrip, look: Look) -> int:
    """Height of the axis: a row of days, and one of hours where these are shown, over the rule.

    Rows are left out where a lane would find no room. Raises `SheetError` where it finds none even so.
    """
    stage = Stage.of(strip.start, strip.end, look=look, head_px=0, names=_gutter(strip))
    rule = _TICK_PX + 2 + look.pen_px
    for rows in range(2 if _step(stage).within_day else 1, -1, -1):
        head = rows * look.line_height_px + rule
        if look.height_px - head >= stage.least_px:
            return head
    least = rule + stage.least_px
    raise SheetError(
        f"a strip of events is at least {least} pixels high with these labels, got {look.height_px}",
        mend=f"Write height_px={least} or more, or a smaller label_px.",
    )


def _step(stage: Stage) -> Step:
    """Hours where their labels fit, at least every six of them, else days."""
    look = stage.look
    noon = stage.axis.start.astimezone(look.wording.zone)
    widest = max(look.text_px(look.hour(noon.replace(hour=hour, minute=0))) for hour in (9, 12, 20, 22))
    hours = max(stage.axis.step(round(widest + 1.2 * look.label_px)), Step.HOUR, key=lambda one: one.usual_s)
    if hours.usual_s <= Step.HOURS_6.usual_s:
        return hours
    return Step.DAY


def _axis(sketch: Sketch, stage: Stage, *, foot_px: int, taken: Sequence[Text]) -> tuple[Text, ...]:
    """Days and hours over a heavy rule; dotted lines down where a day begins, finer ones at hours."""
    look, step = stage.look, _step(stage)
    pen = look.pen_px
    left, right, floor = stage.left_px, stage.right_px, stage.head_px - 1 - pen
    sketch.fill((left, floor, right - left, 1 + pen))
    texts: list[Text] = []
    row = floor - look.line_height_px - (_TICK_PX if step.within_day else 0)
    dots: list[tuple[int, int, int]] = []  # column, first row, distance
    if step.within_day and row >= look.line_height_px:
        for tick in stage.axis.ticks(step):
            x = stage.x(tick.at)
            sketch.fill((x, floor - _TICK_PX, 1, _TICK_PX))
            dots.append((x, floor + 4, 6))
            texts.append(_centred(look.hour(tick.local), (x, row), look=look))
        row -= look.line_height_px
    days = _days(sketch, stage, top_px=row, dots=dots) if row >= 0 else []
    for x, begin, step_px in dots:
        sketch.fill((x, begin, 1, max(0, foot_px - begin)), MUTED, every=(1, step_px))
    return (*spread(days, taken, size=look.size, gap_px=4), *spread(texts, taken, size=look.size, gap_px=3))


def _days(sketch: Sketch, stage: Stage, *, top_px: int, dots: list[tuple[int, int, int]]) -> list[Text]:
    """The name of each day at its beginning, shorter where the part shown is short; today's is strong."""
    look = stage.look
    zone = look.wording.zone
    today = look.now.astimezone(zone).date() if look.now else None
    rooms = []
    for day, begin, finish in stage.axis.days():
        left, right = stage.x(begin), min(stage.x(finish), look.width_px)
        if begin > stage.axis.start:
            dots.append((left, stage.head_px, 2))
            sketch.fill((left, top_px + 2, 1, stage.head_px - top_px - 2))
            left += _DAY_GAP_PX
        rooms.append((day, left, right - left - _DAY_GAP_PX))
    pattern = _day_pattern(rooms, look)
    texts: list[Text] = []
    for day, left, room in rooms:
        role = Role.STRONG if day == today else Role.AXIS
        names = (look.wording.date(day, each) for each in (pattern, "d"))
        text = next((name for name in names if look.text_px(name, role=role) <= room), "")
        if text:
            box = (left, top_px, look.text_px(text, role=role), look.line_height_px)
            code = look.accent if day == today else INK
            texts.append(Text(text, box, look.label_px, Align.LEFT, role, code))
    return texts


def _day_pattern(rooms: Sequence[tuple[date, int, int]], look: Look) -> str:
    """The longest form of a day's name that every day has room for; days cut short by the strip's ends do not count."""
    widest = max(room for _, _, room in rooms)
    whole = [(day, room) for day, _, room in rooms if room > widest // 2]
    for pattern in _DAY_PATTERNS:
        if all(
            look.text_px(look.wording.date(day, pattern), role=Role.STRONG) <= room for day, room in whole
        ):
            return pattern
    return _DAY_PATTERNS[-1]


def _centred(text: str, at: tuple[int, int], *, look: Look) -> Text:
    wide = (look.text_px(text, role=Role.AXIS) + 1) // 2 * 2
    left = min(max(0, at[0] - wide // 2), max(0, look.width_px - wide))
    return Text(text, (left, at[1], wide, look.line_height_px), look.label_px, Align.CENTRE, Role.AXIS)


def _names(sketch: Sketch, stage: Stage, strip: AgendaStrip, placed: Sequence[Placed]) -> list[Text]:
    """The calendars' names beside their first lanes, a fine rule over each but the first."""
    look = stage.look
    if not strip.by_calendar:
        return []
    texts: list[Text] = []
    for number, agenda in enumerate(strip.agendas):
        tops = [one.box[1] for one in placed if one.entry.number == number]
        if not tops:
            continue
        top = min(tops)
        if texts:
            sketch.fill((0, top - 3, stage.right_px, 1))
        text = look.measure.cut(
            agenda.name, room_px=stage.left_px - 8, size_px=look.label_px, role=Role.STRONG
        )
        texts.append(Text(text, (0, top, stage.left_px - 8, stage.bar_px), look.label_px, role=Role.STRONG))
    return [text for text in texts if text.text]


def _event(sketch: Sketch, stage: Stage, one: Placed, *, marked: bool, hatched: Mask) -> list[Text]:
    """A bar with its words, or a lozenge for an event of no length."""
    look, box = stage.look, one.box
    event = one.entry.event
    if one.point:
        across = mark_px(box[3]) + 4
        sketch.stamp(
            mark(3, across_px=across, code=INK),
            at=(box[0] + (box[2] - across) // 2, box[1] + (box[3] - across) // 2),
        )
    else:
        style = BarStyle(
            one.entry.number,
            solid=event.all_day,
            tentative=event.tentative,
            cut=one.cut,
            marked=marked and one.entry.number >= 0,
        )
        lay_bar(sketch, box, style=style, hatched=hatched)
    if not one.text:
        return []
    left, top, wide, high = one.text_box
    if one.inside and event.tentative:
        drawn = look.text_px(one.text)
        hatched[box[1] + 1 : box[1] + box[3] - 1, max(0, left - 2) : left + drawn + 3] = False
    elif not one.inside:
        sketch.clear((left, top + 2, wide, high - 4), MUTED)
    code = BarStyle(solid=event.all_day, tentative=event.tentative).text_code() if one.inside else INK
    align = Align.RIGHT if one.before else Align.LEFT
    return [
        Text(
            one.text,
            one.text_box,
            look.label_px,
            align,
            code=look.accent if one.entry.holiday and not one.inside else code,
        )
    ]


def _now(sketch: Sketch, stage: Stage, texts: Sequence[Text], *, foot_px: int) -> None:
    """A line from a triangle at the axis down through the lanes, left out where words stand."""
    look = stage.look
    if look.now is None or not stage.axis.start <= look.now <= stage.axis.end:
        return
    x = stage.x(look.now)
    line = np.ones((max(0, foot_px - stage.head_px), 1 + look.pen_px), dtype=np.bool_)
    for text in texts:
        left, top, wide, high = text.box
        if left - 1 < x + 1 + look.pen_px and x < left + wide + 1:
            line[max(0, top - 2 - stage.head_px) : max(0, top + high + 2 - stage.head_px)] = False
    below = np.flatnonzero(~line[:, 0])
    if len(below) and len(line) - 1 - below[-1] < _LEAST_NOW_PX:
        line[below[-1] :] = False  # no stub below the last words
    sketch.put(line, look.accent, at=(x, stage.head_px))
    for row in range(_NOW_PX + 1):
        half = _NOW_PX - row
        sketch.fill((x - half, stage.head_px + row, 2 * half + 2, 1), look.accent)


def _more(stage: Stage, hidden: int) -> list[Text]:
    """How many events found no lane, at the right of the foot; where there is but one lane, at the right of the axis."""
    look = stage.look
    alone = stage.lane_count == 1
    if not hidden or (alone and stage.head_px < look.line_height_px):
        return []
    text = look.more_text.replace("{count}", look.count(hidden))
    wide = look.text_px(text, role=Role.STRONG)
    top = 0 if alone else look.height_px - look.line_height_px
    return [
        Text(
            text,
            (max(0, stage.right_px - wide), top, min(wide, look.width_px), look.line_height_px),
            look.label_px,
            Align.RIGHT,
            role=Role.STRONG,
        )
    ]


def _words(found: Sequence[Entry], strip: AgendaStrip, look: Look) -> str:
    """The text alternative where the sheet gives none: each event with its time."""
    wording = look.wording
    parts: list[str] = []
    last: date | None = None
    for entry in found:
        day = max(entry.first, strip.start.astimezone(wording.zone).date())
        head = "" if day == last else f"{wording.date(day, 'EEEEdMMMM')}: "
        time = "" if entry.event.all_day else f"{wording.span(entry.event.starts, entry.event.ends)} "
        parts.append(f"{head}{time}{entry.event.summary}")
        last = day
    return "; ".join(parts)
