"""Events on a strip: lanes never overlap, what finds no lane is counted, ends that go on are pointed."""

from datetime import UTC, date, datetime, timedelta
from itertools import combinations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.blocks.days.makings import (
    CLUB,
    HOLIDAYS,
    HOUSE,
    LONDON,
    PLATE,
    RED,
    START,
    agenda,
    check_texts,
    codes,
    event,
    look,
    timed,
    whole,
    wording,
)
from tests.golden import check_golden

from wallbill.blocks.days.agenda_lanes import Placed, Stage, laid_out
from wallbill.blocks.days.agenda_strip import AgendaStrip, agenda_composed, agenda_strip
from wallbill.blocks.days.entries import entries
from wallbill.blocks.days.lanes import lane_count
from wallbill.blocks.drawing.grid import ACCENT
from wallbill.blocks.drawing.labels import apart
from wallbill.blocks.drawing.palette import Palette
from wallbill.errors import SheetError
from wallbill.facts.agenda import Agenda, midnight

DAY = (midnight(date(2026, 3, 14), LONDON), midnight(date(2026, 3, 15), LONDON))
WEEK = (midnight(date(2026, 3, 16), LONDON), midnight(date(2026, 3, 23), LONDON))

happenings = st.lists(
    st.tuples(st.integers(-30, 190), st.integers(0, 60), st.booleans(), st.booleans(), st.sampled_from(["A", "Committee", "A rather long matter, with more"])),
    max_size=30,
)  # fmt: skip


def happening(told: tuple[int, int, bool, bool, str]) -> Agenda:
    hour, length, all_day, tentative, summary = told
    start = WEEK[0] + timedelta(hours=hour)
    if all_day:
        first = start.date()
        return agenda(
            "x", [event(summary, first, first + timedelta(days=1 + length // 24), tentative=tentative)]
        )
    return agenda("x", [event(summary, start, start + timedelta(hours=length), tentative=tentative)])


@given(happenings, st.integers(120, 800), st.integers(40, 300), st.integers(8, 24), st.booleans())
@settings(max_examples=120, deadline=None)
def test_lanes_never_overlap_and_nothing_is_lost(told: list[tuple[int, int, bool, bool, str]], width_px: int, height_px: int, label_px: int, by_calendar: bool) -> None:  # fmt: skip  # noqa: FBT001  hypothesis hands it over by place
    events = [happening(each).events[0] for each in told]
    agendas = (agenda("One", events[::2]), agenda("Other", events[1::2]))
    asked = look(width_px, height_px, label_px=label_px)
    strip = AgendaStrip(agendas, *WEEK, by_calendar=by_calendar)
    try:
        composed = agenda_composed(strip, look=asked)
    except SheetError as fault:
        if "pixels high with these labels" not in fault.what or height_px > 30 + label_px * 1.5:
            raise
        return
    assert composed.grid.size == asked.size
    check_texts(composed.texts, asked.size)
    every = entries(agendas, (), LONDON)
    found = [e for e in every if _touches(e.span(LONDON))]
    stage = Stage.of(*WEEK, look=asked, head_px=30, names=("One", "Other") if by_calendar else ())
    placed, hidden = laid_out(found, stage, by_calendar=by_calendar, calendars=2)
    assert len(placed) + hidden == len(found)
    for one, other in combinations(placed, 2):
        assert apart(one.box, other.box), (one, other)
        assert _clear(one, other)
        assert _clear(other, one)
    if not by_calendar and hidden:
        assert lane_count([one.bar_reach for one in placed]) <= max(1, stage.lane_count - 1)


def _touches(span: tuple[datetime, datetime]) -> bool:
    start, end = span
    return (start < WEEK[1] and end > WEEK[0]) or (start == end and WEEK[0] <= start < WEEK[1])


def _clear(one: Placed, other: Placed) -> bool:
    """The words of one keep off the bar and the words of the other."""
    if not one.text:
        return True
    return apart(one.text_box, other.box) and (not other.text or apart(one.text_box, other.text_box))


def test_no_more_lanes_than_overlap() -> None:
    found = entries((CLUB, HOUSE), (), LONDON)
    here = [e for e in found if e.span(LONDON)[0] < DAY[1] and e.span(LONDON)[1] > DAY[0]]
    placed, hidden = laid_out(
        here, Stage.of(*DAY, look=look(2000, 400), head_px=30, names=()), by_calendar=False, calendars=2
    )
    assert hidden == 0
    assert len({one.box[1] for one in placed}) == lane_count([one.bar_reach for one in placed]) == 3


def test_ends_that_go_on_are_pointed() -> None:
    stay = agenda("x", [whole("Stay", "2026-03-10", 30)])
    found = entries((stay,), (), LONDON)
    (one,), _ = laid_out(
        found, Stage.of(*WEEK, look=look(), head_px=20, names=()), by_calendar=False, calendars=1
    )
    assert one.cut == (True, True)
    grid = agenda_composed(AgendaStrip((stay,), *WEEK), look=look(now=None)).grid.codes
    top = one.box[1]
    rows = [row for row in range(top, 200) if grid[row, 200] == 1]
    assert grid[rows[0], 0] == 0  # the corner is gone
    assert grid[rows[len(rows) // 2], 0] == 1  # the point is not


def test_what_finds_no_lane_is_counted_in_the_sheet_s_words() -> None:
    many = agenda("x", [timed(f"Meeting {n}", "2026-03-14T09:00", 3) for n in range(12)])
    asked = look(400, 90, more_text="and {count} more")
    texts = [text.text for text in agenda_composed(AgendaStrip((many,), *DAY), look=asked).texts]
    shown = sum(1 for text in texts if text.startswith("Meeting"))
    assert f"and {12 - shown} more" in texts
    assert 0 < shown < 12


def test_the_clocks_change_on_the_axis() -> None:
    """In the night to 29 March 2026 the hour from one to two is left out; an event from half past midnight to three lasts 90 minutes."""
    night = agenda("x", [timed("Watch", "2026-03-29T00:30", 1.5)])
    start, end = midnight(date(2026, 3, 29), LONDON), midnight(date(2026, 3, 30), LONDON)
    stage = Stage.of(start, end, look=look(24 * 23), head_px=20, names=())
    (one,), _ = laid_out(entries((night,), (), LONDON), stage, by_calendar=False, calendars=1)
    assert one.box[2] == pytest.approx(1.5 / 23 * stage.axis.width_px, abs=2)
    labels = [
        text.text for text in agenda_composed(AgendaStrip((night,), start, end), look=look(1200, 100)).texts
    ]
    assert "1" not in labels
    assert "2" in labels


def test_an_event_of_no_length_is_a_point_with_words_beside_it() -> None:
    moment = datetime(2026, 3, 14, 12, tzinfo=UTC)
    ferry = agenda("x", [event("Ferry", moment, moment)])
    (one,), _ = laid_out(
        entries((ferry,), (), LONDON),
        Stage.of(*DAY, look=look(), head_px=20, names=()),
        by_calendar=False,
        calendars=1,
    )
    assert one.point
    assert one.text == "Ferry"
    assert not one.inside


def test_calendars_stand_apart_under_their_names() -> None:
    strip = AgendaStrip((CLUB, HOUSE), *DAY, by_calendar=True)
    texts = {text.text: text.box for text in agenda_composed(strip, look=look(700, 200)).texts}
    assert texts["Rowing club"][1] < texts["House"][1]


def test_words_for_those_who_cannot_see_it() -> None:
    html = str(agenda_strip(AgendaStrip((CLUB,), *DAY), look=look()))
    assert 'aria-label="Saturday 14 March: 09:30–11:30 Outing; 12:30–14:00 Soup lunch"' in html


def test_right_to_left_words_keep_the_axis() -> None:
    composed = agenda_composed(AgendaStrip((CLUB,), *DAY), look=look(700, 120, wording=wording("ar-EG")))
    check_texts(composed.texts, (700, 120))


@pytest.mark.parametrize("name", ["agenda-day", "agenda-week"])
def test_golden(name: str) -> None:
    strips = {
        "agenda-day": (AgendaStrip((CLUB, HOUSE), *DAY, holidays=(HOLIDAYS,)), look(460, 120, label_px=11, palette=RED, now=START)),
        "agenda-week": (AgendaStrip((CLUB, HOUSE), *WEEK, by_calendar=True), look(460, 130, label_px=11, palette=Palette())),
    }  # fmt: skip
    strip, asked = strips[name]
    check_golden(name, codes(agenda_composed(strip, look=asked)), PLATE)


def test_no_speck_of_the_line_of_now_stands_below_the_last_words() -> None:
    night = agenda("x", [timed("A long talk at the quay", "2026-03-14T20:00", 0.3)])
    asked = look(400, 120, now=datetime(2026, 3, 14, 10, 40, tzinfo=LONDON), palette=RED)
    composed = agenda_composed(AgendaStrip((night,), *DAY), look=asked)
    (words,) = (text for text in composed.texts if text.text.startswith("A long"))
    red = composed.grid.codes == ACCENT
    assert red.any()
    assert not red[words.box[1] :].any()


def test_words_are_cut_at_the_end_rather_than_left_out() -> None:
    many = agenda("x", [timed(f"Meeting {n} of the whole harbour committee", f"2026-03-14T{7 + 6 * (n % 2):02d}:{n}0", 1) for n in range(6)])  # fmt: skip
    composed = agenda_composed(AgendaStrip((many,), *DAY), look=look(560, 140))
    texts = [text.text for text in composed.texts if text.text.startswith("Meeting")]
    assert len(texts) == 6
    assert all(len(text) >= 12 for text in texts)
    check_texts(composed.texts, (560, 140))
