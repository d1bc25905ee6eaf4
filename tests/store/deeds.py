"""Things to do to a store, one after the other, that leave traces in every table."""

from datetime import datetime, timedelta

from tests.store.values import NOW
from wallbill.store.model import (
    Asked,
    Contact,
    Edition,
    Impressed,
    Installed,
    Key,
    Notice,
    Outcome,
    Person,
    Pressing,
    Report,
    Why,
)
from wallbill.store.ports import Store

DISPLAYS = ("hall", "kitchen", "porch")
KINDS = 9


def impression(number: int, *, size: int = 9000) -> Impressed:
    """A picture as large as many are, and unlike all others."""
    return Impressed(f"{number:064x}", "a-panel", 800, 480, number.to_bytes(4, "big") * (size // 4))


def edition(display: str, number: int, picture: int, *, at: datetime = NOW) -> Edition:
    """An edition with that picture."""
    return Edition(
        display, number, f"{picture:064x}", at, "sheet", Why.FACTS, "new facts", (("sun", "x"),), "w"
    )


def begin(store: Store) -> None:
    """Hangs the displays."""
    store.install(*(Installed(name, name, NOW) for name in DISPLAYS))


def do(store: Store, step: int) -> None:
    """The deed of a step: always the same for the same step, each one transaction, each seen afterwards."""
    display = DISPLAYS[step // KINDS % len(DISPLAYS)]
    at = NOW + timedelta(seconds=step)
    match step % KINDS:
        case 0:
            last = store.history(display, most=1)
            number = last[0].number + 1 if last else 1
            assert store.put_up(edition(display, number, step, at=at), impression(step))
        case 1:
            store.add_key(Key(f"key{step}", display, at), others_end_at=at + timedelta(days=1))
        case 2:
            store.note_contacts(
                [Contact(name, at, 200, f"tag{step}", "", at) for name in DISPLAYS],
                [Report(name, at, battery_mv=step) for name in DISPLAYS],
            )
        case 3:
            store.ask(Asked(display, f"sheet{step}", at, "ada", at))
        case 4:
            store.note_pressing(*(Pressing(name, at, Outcome.SAME, "sheet", step) for name in DISPLAYS))
        case 5:
            store.put_notices([Notice("battery", display, f"what{step}", "mend", at)])
        case 6:
            store.put_person(Person(f"person{step}", "hash", added_at=at))
        case 7:
            store.end_keys(display, at)
        case 8:
            store.install(Installed(f"new{step}", display, at))
