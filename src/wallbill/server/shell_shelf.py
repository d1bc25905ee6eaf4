"""What the server holds in memory: keys, what each display is to show, and the book of who called."""

import threading
from collections import deque
from collections.abc import Iterable, Mapping
from dataclasses import replace
from math import inf
from types import MappingProxyType

from wallbill.server.changing import kept_plates
from wallbill.server.heads import opaque_part
from wallbill.server.model import Body, Form, Hung
from wallbill.store.model import Contact, Key, Report

MOST_EARLIER = 3
"""How many pictures before the one that is up can be the ground of a changed rectangle."""

MOST_REPORTS = 10_000
"""Reports that wait to be written at most; of more, the oldest are dropped."""


class LiveShelf:
    """A `Shelf` that changes while the server runs.

    Reading takes no lock: a value is swapped for another whole one. May be filled and emptied from other threads.
    """

    def __init__(self) -> None:
        self._keys: Mapping[str, tuple[str, float]] = MappingProxyType({})
        self._hung: dict[str, Hung] = {}
        self._hanging = threading.Lock()
        self._writing = threading.Lock()
        self._contacts: dict[str, Contact] = {}
        self._reports: deque[Report] = deque(maxlen=MOST_REPORTS)

    def set_keys(self, keys: Iterable[Key]) -> None:
        """Takes these keys in place of all others."""
        self._keys = {
            key.digest: (key.display, inf if key.ends_at is None else key.ends_at.timestamp()) for key in keys
        }

    def hang(self, hung: Hung) -> None:
        """Takes what a display is to show from now on.

        The forms of an edition that hangs already are kept; so are the plates of earlier ones that were fetched.
        """
        with self._hanging:
            before = self._hung.get(hung.name)
            self._hung[hung.name] = hung if before is None else _following(before, hung)

    def add_form(self, hung: Hung, form: Form, body: Body) -> None:
        """Adds a form that was made of ``hung``'s edition, unless another hangs by now."""
        with self._hanging:
            now = self._hung.get(hung.name)
            if now is not None and now.edition == hung.edition:
                self._hung[hung.name] = replace(now, forms=MappingProxyType({**now.forms, form: body}))

    def take_down(self, name: str) -> None:
        """Forgets a display."""
        with self._hanging:
            self._hung.pop(name, None)

    def opened_by(self, key_digest: str, now_s: float) -> str | None:
        """The display that a key opens at ``now_s`` (Unix time), or None."""
        found = self._keys.get(key_digest)
        return found[0] if found is not None and now_s < found[1] else None

    def hung(self, display: str) -> Hung | None:
        """What a display is to show, or None where nothing is known of it."""
        return self._hung.get(display)

    def names(self) -> tuple[str, ...]:
        """All displays that something is known of."""
        return tuple(self._hung)

    def note(self, contact: Contact) -> None:
        """Writes into the book that a display called; its last contact takes the place of the one before."""
        with self._writing:
            self._contacts[contact.display] = contact

    def tell(self, report: Report) -> None:
        """Writes into the book what a display said."""
        with self._writing:
            self._reports.append(report)

    def contacts_due(self) -> tuple[list[Contact], list[Report]]:
        """What stands in the book, which is empty then."""
        with self._writing:
            contacts, self._contacts = self._contacts, {}
            reports, self._reports = self._reports, deque(maxlen=MOST_REPORTS)
        return list(contacts.values()), list(reports)

    def give_back(self, contacts: Iterable[Contact], reports: Iterable[Report]) -> None:
        """Puts back into the book what could not be written; what has come in since is newer, and stays."""
        with self._writing:
            self._contacts = {each.display: each for each in contacts} | self._contacts
            newer = self._reports
            self._reports = deque(reports, maxlen=MOST_REPORTS)
            self._reports.extend(newer)


def _following(before: Hung, after: Hung) -> Hung:
    """``after`` with what is still of use of what hung ``before`` it."""
    if after.edition is None or before.edition is None:
        return after
    if after.edition == before.edition:
        forms = {**before.forms, **after.forms}
        return replace(after, forms=MappingProxyType(forms), earlier=after.earlier or before.earlier)
    earlier = {**before.earlier, **after.earlier}
    plates = before.forms.get(Form.PLATES)
    if plates is not None:
        tag = opaque_part(before.edition.tag)
        earlier.pop(tag, None)
        earlier[tag] = kept_plates(plates)
    last = list(earlier.items())[-MOST_EARLIER:]
    return replace(after, earlier=MappingProxyType(dict(last)))
