"""Only what a sheet can ask for is fetched."""

import pytest

from wallbill.sheets.needs import sources_needed

KNOWN = ("forecast", "club", "rota", "sky")


@pytest.mark.parametrize(
    ("hall", "wanted"),
    [
        ("{{ facts.forecast.days }} {{ facts['club'].name }}", {"forecast", "club"}),
        ("{{ ages.sky.dated }}", {"sky"}),
        ("<p>The facts of the day</p>{{ facts.sky }}", {"sky"}),
        ('{% include "foot.html" %}{{ facts.sky }}', {"sky", "rota"}),
        ("{% for name in facts %}{{ name }}{% endfor %}", set(KNOWN)),
        ("{% set x = facts[name] %}", set(KNOWN)),
        ("nothing", set()),
        ("{{ facts.unheard_of }}", set()),
    ],
)
def test_sources_are_read_off_the_sheet(hall: str, wanted: set[str]) -> None:
    texts = {"hall.html": hall, "foot.html": "{{ facts.rota.value }}", "other.html": "{{ facts.club }}"}
    assert sources_needed(["hall"], [], texts=texts, known=KNOWN) == wanted


def test_conditions_count() -> None:
    assert sources_needed([], ["facts.rota.value.late"], texts={}, known=KNOWN) == {"rota"}


def test_a_condition_with_another_shape_needs_all() -> None:
    assert sources_needed([], ["any(facts)"], texts={}, known=KNOWN) == set(KNOWN)
