"""Calendars of a server: a real Radicale on the loopback, filled by plain PUTs, read through a whole gathering."""

import base64
import contextlib
import http.client
import shutil
import socket
import subprocess
import time
from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest
from tests.sources.web_server import plain, web
from tests.sources.world_bench import counted

from wallbill.errors import Place
from wallbill.facts.agenda import Agenda
from wallbill.facts.supply import Supplied
from wallbill.sources import shell_caldav
from wallbill.sources.fetching import Limits
from wallbill.sources.shell import Gathering, gather
from wallbill.sources.shell_keeping import Keeper
from wallbill.sources.spec import SourceSpec

NOW = datetime(2026, 3, 14, 7, 7, tzinfo=UTC)
LONDON = ZoneInfo("Europe/London")
USER, PASSWORD = "keeper", "lamp-oil-2"
TIMEZONE = """BEGIN:VTIMEZONE
TZID:Europe/London
BEGIN:STANDARD
DTSTART:19961027T020000
TZOFFSETFROM:+0100
TZOFFSETTO:+0000
RRULE:FREQ=YEARLY;BYMONTH=10;BYDAY=-1SU
END:STANDARD
BEGIN:DAYLIGHT
DTSTART:19810329T010000
TZOFFSETFROM:+0000
TZOFFSETTO:+0100
RRULE:FREQ=YEARLY;BYMONTH=3;BYDAY=-1SU
END:DAYLIGHT
END:VTIMEZONE
"""


@dataclass
class Server:
    """A running Radicale with one calendar, ``/keeper/hut/``."""

    port: int

    @property
    def url(self) -> str:
        return f"http://localhost:{self.port}/keeper/hut/"

    def ask(self, method: str, path: str, body: str = "", kind: str = "text/calendar") -> int:
        connection = http.client.HTTPConnection("127.0.0.1", self.port, timeout=10)
        token = base64.b64encode(f"{USER}:{PASSWORD}".encode()).decode()
        headers = {"Authorization": f"Basic {token}", "Content-Type": f"{kind}; charset=utf-8"}
        connection.request(method, path, body.encode(), headers)
        status = connection.getresponse().status
        connection.close()
        return status

    def put(self, uid: str, entry: str, *, zones: str = TIMEZONE) -> None:
        text = f"BEGIN:VCALENDAR\nVERSION:2.0\nPRODID:-//Fennel Quay//EN\n{zones}{entry.strip()}\nEND:VCALENDAR\n"
        assert self.ask("PUT", f"/keeper/hut/{uid}.ics", text.replace("\n", "\r\n")) == 201


@contextlib.contextmanager
def running(folder: Path) -> Iterator[Server]:
    program = shutil.which("radicale")
    assert program, "these tests need Debian's radicale: run scripts/system_packages.sh"
    (folder / "users").write_text(f"{USER}:{PASSWORD}\n", encoding="utf-8")
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    (folder / "config").write_text(
        f"[server]\nhosts = 127.0.0.1:{port}\n[auth]\ntype = htpasswd\nhtpasswd_filename = {folder}/users\n"
        f"htpasswd_encryption = plain\ndelay = 0\n[storage]\nfilesystem_folder = {folder}/collections\n"
        "[logging]\nlevel = error\n",
        encoding="utf-8",
    )
    with subprocess.Popen([program, "--config", str(folder / "config")]) as process:
        try:
            for _ in range(200):
                with contextlib.suppress(OSError), socket.create_connection(("127.0.0.1", port), 0.2):
                    break
                time.sleep(0.05)
            yield Server(port)
        finally:
            process.terminate()


@pytest.fixture
def server(tmp_path: Path) -> Iterator[Server]:
    folder = tmp_path / "radicale"
    folder.mkdir()
    with running(folder) as found:
        body = """<?xml version="1.0" encoding="utf-8"?>
<create xmlns="DAV:"><set><prop><resourcetype><collection/>
<C:calendar xmlns:C="urn:ietf:params:xml:ns:caldav"/></resourcetype>
<displayname>Hut, and boats</displayname></prop></set></create>"""
        assert found.ask("MKCOL", "/keeper/hut/", body, "application/xml") == 201
        yield found


@pytest.fixture
def wall(tmp_path: Path) -> Gathering:
    (tmp_path / "wall").mkdir()
    return Gathering(
        tmp_path / "wall", LONDON, 50.31, -4.05, "en-GB", limits=Limits(total_s=8.0), total_s=30.0
    )


def spec(url: str, **options: object) -> SourceSpec:
    told = {"url": url, "user": USER, "password": PASSWORD, "private_hosts": ["localhost"], **options}
    return SourceSpec("hut", "caldav", told, timedelta(minutes=30), timedelta(days=1), Place("wall.toml", 9))


def get(
    wall: Gathering, source: SourceSpec, *, now: datetime = NOW, keeper: Keeper | None = None
) -> Supplied:
    return gather([source], wall, keeper=keeper, clock=lambda: now).sources["hut"]


def agenda(given: Supplied) -> Agenda:
    assert given.trouble is None, given.trouble
    assert isinstance(given.fact, Agenda)
    return given.fact


def filled(server: Server) -> None:
    server.put(
        "weekly",
        "BEGIN:VEVENT\nUID:weekly\nDTSTAMP:20260101T000000Z\nDTSTART;TZID=Europe/London:20260303T190000\n"
        "DTEND;TZID=Europe/London:20260303T203000\nRRULE:FREQ=WEEKLY;COUNT=8\nSUMMARY:Rowing\nEND:VEVENT\n"
        "BEGIN:VEVENT\nUID:weekly\nDTSTAMP:20260101T000000Z\nRECURRENCE-ID;TZID=Europe/London:20260317T190000\n"
        "DTSTART;TZID=Europe/London:20260318T180000\nDTEND;TZID=Europe/London:20260318T190000\n"
        "SUMMARY:Rowing (moved)\nEND:VEVENT",
    )
    server.put(
        "regatta",
        "BEGIN:VEVENT\nUID:regatta\nDTSTAMP:20260101T000000Z\nDTSTART;VALUE=DATE:20260404\n"
        "DTEND;VALUE=DATE:20260406\nSUMMARY:Regatta é\nEND:VEVENT",
        zones="",
    )
    server.put(
        "old",
        "BEGIN:VEVENT\nUID:old\nDTSTAMP:20250101T000000Z\nDTSTART:20250601T100000Z\nDTEND:20250601T110000Z\n"
        "SUMMARY:Last year\nEND:VEVENT",
        zones="",
    )
    server.put(
        "paint",
        "BEGIN:VTODO\nUID:paint\nDTSTAMP:20260101T000000Z\nSUMMARY:Paint the door\nPRIORITY:2\n"
        "DUE;VALUE=DATE:20260320\nEND:VTODO",
        zones="",
    )
    server.put(
        "done",
        "BEGIN:VTODO\nUID:done\nDTSTAMP:20260101T000000Z\nSUMMARY:Oil the hinge\nSTATUS:COMPLETED\n"
        "COMPLETED:20260201T000000Z\nEND:VTODO",
        zones="",
    )


def test_events_and_todos_come_from_the_server(server: Server, wall: Gathering) -> None:
    filled(server)
    found = agenda(get(wall, spec(server.url)))
    assert found.name == "Hut, and boats"
    starts = [(event.summary, event.starts) for event in found.events]
    # 19:00 in London is 19:00 UTC until 29 March 2026 and 18:00 UTC from then on; the third turn was moved.
    assert starts == [
        ("Rowing (moved)", datetime(2026, 3, 18, 18, 0, tzinfo=UTC)),
        ("Rowing", datetime(2026, 3, 24, 19, 0, tzinfo=UTC)),
        ("Rowing", datetime(2026, 3, 31, 18, 0, tzinfo=UTC)),
        ("Regatta é", date(2026, 4, 4)),
        ("Rowing", datetime(2026, 4, 7, 18, 0, tzinfo=UTC)),
        ("Rowing", datetime(2026, 4, 14, 18, 0, tzinfo=UTC)),
        ("Rowing", datetime(2026, 4, 21, 18, 0, tzinfo=UTC)),
    ]
    assert [(todo.summary, todo.due, todo.priority) for todo in found.undone] == [
        ("Paint the door", date(2026, 3, 20), 2)
    ]


def test_an_empty_calendar_is_an_empty_agenda(server: Server, wall: Gathering) -> None:
    found = agenda(get(wall, spec(server.url, name="Ours")))
    assert (found.name, found.events, found.todos) == ("Ours", (), ())


def test_what_has_not_changed_is_not_sent_again(
    server: Server, wall: Gathering, monkeypatch: pytest.MonkeyPatch
) -> None:
    filled(server)
    with Keeper(wall.folder / "facts.sqlite") as keeper:
        first = agenda(get(wall, spec(server.url), keeper=keeper))
        entries, asked = counted(shell_caldav._entries)
        monkeypatch.setattr(shell_caldav, "_entries", entries)
        again = agenda(get(wall, spec(server.url), now=NOW + timedelta(hours=1), keeper=keeper))
        assert asked == []
        assert again.events == first.events
        server.put(
            "new",
            "BEGIN:VEVENT\nUID:new\nDTSTAMP:20260101T000000Z\nDTSTART:20260315T100000Z\n"
            "DTEND:20260315T110000Z\nSUMMARY:Tide talk\nEND:VEVENT",
            zones="",
        )
        newer = agenda(get(wall, spec(server.url), now=NOW + timedelta(hours=2), keeper=keeper))
        assert len(asked) == 1
        assert newer.events[0].summary == "Tide talk"


def test_a_wrong_password_is_told_and_never_shown(server: Server, wall: Gathering) -> None:
    given = get(wall, spec(server.url, password="wrong-secret"))
    assert given.fact is None
    assert "password" in str(given.trouble)
    assert "wrong-secret" not in str(given.trouble)
    assert "/keeper/" not in str(given.trouble)


def test_an_address_that_is_no_calendar_is_told(server: Server, wall: Gathering) -> None:
    account = get(wall, spec(server.url.replace("hut/", "")))
    assert "at its address is no calendar" in str(account.trouble)
    gone = get(wall, spec(server.url.replace("hut", "shed")))
    assert gone.fact is None
    assert gone.trouble is not None


def test_plain_http_goes_to_hosts_of_ones_own_only(server: Server, wall: Gathering) -> None:
    given = get(wall, spec(server.url, private_hosts=[]))
    assert "not https" in str(given.trouble)
    secure = get(wall, spec(server.url.replace("http:", "https:"), private_hosts=[]))
    assert "private network" in str(secure.trouble)


def test_the_last_entries_stay_when_the_server_is_gone(tmp_path: Path, wall: Gathering) -> None:
    folder = tmp_path / "other"
    folder.mkdir()
    with Keeper(wall.folder / "facts.sqlite") as keeper:
        with running(folder) as server:
            body = (
                '<create xmlns="DAV:"><set><prop><resourcetype><collection/>'
                '<C:calendar xmlns:C="urn:ietf:params:xml:ns:caldav"/></resourcetype></prop></set></create>'
            )
            assert server.ask("MKCOL", "/keeper/hut/", body, "application/xml") == 201
            filled(server)
            first = agenda(get(wall, spec(server.url), keeper=keeper))
        later = get(wall, spec(server.url), now=NOW + timedelta(hours=2), keeper=keeper)
    assert later.trouble is not None
    assert isinstance(later.fact, Agenda)
    assert later.fact.events == first.events


BOMB = (
    '<?xml version="1.0"?><!DOCTYPE d [<!ENTITY a "aaaaaaaaaa">'
    + "".join(f'<!ENTITY a{n} "{"&a;" * 10 if n == 1 else f"&a{n - 1};" * 10}">' for n in range(1, 10))
    + '<!ENTITY b "&a9;">]><multistatus xmlns="DAV:"><response><href>&b;</href></response></multistatus>'
)


@pytest.mark.parametrize(
    ("body", "told"),
    [
        (BOMB, "entities"),
        ("<!DOCTYPE html><html></html>", "web page"),
        ("<multistatus xmlns='DAV:'><resp", "not that of a CalDAV server"),
        ("BEGIN:VCALENDAR", "not that of a CalDAV server"),
    ],
)
def test_answers_that_are_none_are_refused_quickly(wall: Gathering, body: str, told: str) -> None:
    with web() as server:
        server.pages["/keeper/hut/"] = plain(body.encode(), 207)
        began = time.monotonic()
        given = get(replace(wall), spec(server.url("/keeper/hut/")))
        assert time.monotonic() - began < 3
    assert given.fact is None
    assert told in str(given.trouble)
