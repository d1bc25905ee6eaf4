"""Where pictures are cut: the subject whole, the proportions exact, never outside."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from wallbill.blocks.pictures.cutting import ANCHORS, FITS, MIDDLE, Cut, Subject, cut, subject_of
from wallbill.errors import SheetError

SIDES = st.integers(1, 4000)
SHARES = st.floats(0, 1, allow_subnormal=False)


@st.composite
def subjects(draw: st.DrawFn) -> Subject:
    """Any subject inside its picture, points and whole pictures among them."""
    x, y = draw(SHARES), draw(SHARES)
    return Subject(x, y, draw(SHARES) * (1 - x), draw(SHARES) * (1 - y))


def subject_px(subject: Subject, picture_px: tuple[int, int]) -> tuple[float, float, float, float]:
    width, height = picture_px
    return (
        subject.x * width,
        subject.y * height,
        (subject.x + subject.width) * width,
        (subject.y + subject.height) * height,
    )


@given(
    st.tuples(SIDES, SIDES),
    st.tuples(st.integers(1, 2000), st.integers(1, 2000)),
    subjects(),
    st.sampled_from(FITS),
)
def test_the_subject_is_whole_and_nothing_is_outside(
    picture_px: tuple[int, int], room_px: tuple[int, int], subject: Subject, fit: str
) -> None:
    found = cut(picture_px, room_px, subject=subject, fit=fit)
    left, top, right, bottom = found.box
    hair = 1e-6 * max(picture_px)
    assert 0 <= left < right <= picture_px[0]
    assert 0 <= top < bottom <= picture_px[1]
    x, y, far, low = subject_px(subject, picture_px)
    assert left <= x + hair and far <= right + hair  # noqa: PT018  one side is meant as one thing
    assert top <= y + hair and low <= bottom + hair  # noqa: PT018  as above
    assert all(1 <= size <= room for size, room in zip(found.size_px, room_px, strict=True))
    assert all(
        at >= 0 and at + size <= room
        for at, size, room in zip(found.at_px, found.size_px, room_px, strict=True)
    )


@given(st.tuples(SIDES, SIDES), st.tuples(st.integers(1, 2000), st.integers(1, 2000)), subjects())
def test_a_part_that_fills_the_box_has_its_proportions(
    picture_px: tuple[int, int], room_px: tuple[int, int], subject: Subject
) -> None:
    found = cut(picture_px, room_px, subject=subject)
    aspect = room_px[0] / room_px[1]
    largest = min(picture_px[0], picture_px[1] * aspect)
    fits = (
        subject.width * picture_px[0] <= largest and subject.height * picture_px[1] <= largest / aspect
    )  # the largest part with these proportions holds the subject
    if fits:
        left, top, right, bottom = found.box
        assert (right - left) / (bottom - top) == pytest.approx(aspect, rel=1e-9)
        assert found.size_px == room_px
        assert right - left == pytest.approx(largest, rel=1e-9)
    elif min(found.size_px) > 20:  # of a picture a few pixels high the rounding is more than the picture
        left, top, right, bottom = found.box
        across = found.size_px[0] / (right - left)
        assert found.size_px[1] / (bottom - top) == pytest.approx(across, rel=0.05)


@given(st.tuples(SIDES, SIDES), st.tuples(st.integers(20, 800), st.integers(20, 800)), subjects())
def test_no_anchor_is_nearer(picture_px: tuple[int, int], room_px: tuple[int, int], subject: Subject) -> None:
    """Of all places that keep the subject whole, tried one by one, none brings its middle nearer to an anchor."""
    found = cut(picture_px, room_px, subject=subject)
    spans = ((found.box[0], found.box[2], 0), (found.box[1], found.box[3], 1))
    corners = subject_px(subject, picture_px)
    for start, end, axis in spans:
        part, first, last = end - start, corners[axis], corners[axis + 2]
        middle = (first + last) / 2
        missed = min(abs(middle - start - anchor * part) for anchor in ANCHORS)
        low, high = max(0.0, last - part), min(first, picture_px[axis] - part)
        for step in range(41):
            other = low + (high - low) * step / 40
            assert missed <= min(abs(middle - other - anchor * part) for anchor in ANCHORS) + 1e-3


def test_in_the_middle_where_nothing_is_said() -> None:
    assert cut((400, 300), (100, 100)) == Cut((50.0, 0.0, 350.0, 300.0), (100, 100), (0, 0))
    assert cut((300, 400), (100, 100)) == Cut((0.0, 50.0, 300.0, 350.0), (100, 100), (0, 0))


def test_a_subject_off_the_middle_stays_on_its_third() -> None:
    # 600 x 200 cut to 300 x 200. In the whole picture the point is at 0.25: at 1/3 of the cut it moves the cut least.
    left, _, right, _ = cut((600, 200), (300, 200), subject=Subject(0.25, 0.5)).box
    assert (left, right) == (50.0, 350.0)
    assert (0.25 * 600 - left) / 300 == pytest.approx(1 / 3)


def test_a_subject_too_wide_is_shown_whole_between_paper() -> None:
    found = cut((400, 300), (100, 300), subject=Subject(0.1, 0.2, 0.8, 0.5))
    assert found == Cut((40.0, 0.0, 360.0, 300.0), (100, 94), (0, 103))


def test_close() -> None:
    found = cut((4000, 3000), (100, 100), subject=Subject(0.5, 0.5, 0.1, 0.1), fit="close")
    left, top, right, bottom = found.box
    assert right - left == pytest.approx(400 * 1.4)
    assert bottom - top == pytest.approx(400 * 1.4)
    # No pixel is shown on more than one: a cut of fewer pixels than the box has would be blurred.
    left, _, right, _ = cut((400, 300), (200, 200), subject=Subject(0.5, 0.5), fit="close").box
    assert right - left == pytest.approx(200)


def test_contain_shows_all() -> None:
    assert cut((400, 200), (100, 100), fit="contain") == Cut((0.0, 0.0, 400.0, 200.0), (100, 50), (0, 25))


@pytest.mark.parametrize(
    "given", [(0.5,), "face", (0.5, 0.5, 0.2), (0.9, 0.5, 0.2, 0.1), (-0.1, 0.5), (50, 50), (True, 0.1)]
)
def test_wrong_subjects_are_told(given: object) -> None:
    with pytest.raises(SheetError) as caught:
        subject_of(given)
    assert "shares" in caught.value.mend


def test_right_subjects() -> None:
    assert subject_of([0.1, 0.2, 0.3, 0.4]) == Subject(0.1, 0.2, 0.3, 0.4)
    assert subject_of((0.5, 0.5)) == MIDDLE
    assert subject_of(MIDDLE) is MIDDLE


def test_what_no_box_is() -> None:
    with pytest.raises(SheetError, match="not by 'fill'"):
        cut((4, 3), (4, 3), fit="fill")
    with pytest.raises(SheetError, match="at least one pixel"):
        cut((4, 3), (0, 3))
