"""Who does what in the hut: a rota that turns by one each week.

Wallbill calls `who_is_on` for the source `rota` of wall.toml. It is handed what it asks for by name: here the date.
"""

from datetime import date, timedelta

CREW = ("Orla", "Tam", "Bryn", "Wenna", "Jory", "Mabyn")
JOBS = ("Opens the hut", "Soup and stove", "Safety boat")

# The rota began on this Monday. Counting weeks from it, and not by their number in the year, lets nobody
# have two turns running where a year has 53 weeks.
BEGAN = date(2025, 9, 1)

# Weeks in which somebody is away: the Monday of the week, who is away, and who steps in.
SWAPS = {
    (date(2026, 3, 23), "Bryn"): "Wenna",
    (date(2026, 4, 6), "Orla"): "Jory",
}


def on_duty(monday: date) -> dict[str, str]:
    """The jobs of the week that begins on `monday`, and who has each."""
    turn = (monday - BEGAN).days // 7
    week = {}
    for place, job in enumerate(JOBS):
        person = CREW[(turn + 2 * place) % len(CREW)]
        week[job] = SWAPS.get((monday, person), person)
    return week


def who_is_on(today: date) -> dict[str, object]:
    """This week's jobs and next week's, with the number of the week."""
    monday = today - timedelta(days=today.weekday())
    return {
        "week": today.isocalendar().week,
        "this_week": on_duty(monday),
        "next_week": on_duty(monday + timedelta(days=7)),
    }
