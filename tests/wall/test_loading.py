"""A good wall as values; a folder that is no wall; secrets."""

from datetime import datetime, time, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest
from tests.wall.conftest import GOOD, MakeWall

from wallbill.errors import FaultList, WallError
from wallbill.errors import Place as Where
from wallbill.units.quantity import Quantity
from wallbill.wall.model import (
    Display,
    Hours,
    Interrupt,
    MailSettings,
    Place,
    SecretRef,
    StoreSettings,
    TimetableEntry,
    Wall,
    WatchSettings,
    Weekday,
    interrupts_at,
)
from wallbill.wall.shell import load_secrets, load_wall, secret_value, secrets_of

WORKDAYS = frozenset(Weekday) - {Weekday.SAT, Weekday.SUN}


@pytest.fixture
def wall(make_wall: MakeWall) -> Wall:
    return load_wall(make_wall())


def test_a_good_wall(wall: Wall) -> None:
    assert (wall.name, wall.language, wall.contact) == ("Fennel Quay", "en-GB", "")
    assert wall.place == Place(50.31, -4.05, Quantity(12, "m"))
    assert wall.time_zone == ZoneInfo("Europe/London")
    assert wall.units == {"temperature": "°C", "speed": "km/h"}
    assert list(wall.sources) == ["forecast", "rota"]
    assert list(wall.displays) == ["hall"]


def test_its_sources(wall: Wall) -> None:
    forecast = wall.sources["forecast"]
    assert (forecast.kind, forecast.every, forecast.good_for) == (
        "forecast",
        timedelta(minutes=30),
        timedelta(hours=3),
    )
    assert forecast.options == {"service": "met-norway"}
    assert forecast.where == Where("wall.toml", 8, "sources.forecast")
    assert wall.sources["rota"].every is None
    assert wall.sources["rota"].options == {"url": SecretRef("ROTA_ADDRESS")}


def test_its_display(wall: Wall) -> None:
    assert wall.display("hall") == Display(
        name="hall",
        panel=wall.panels["5.8in-648x480-black-white-red"],
        read_from=Quantity(2, "m"),
        turned=90,
        sheet="hall",
        every=timedelta(minutes=20),
        quiet=Hours(time(23), time(6)),
        timetable=(
            TimetableEntry(Hours(time(6, 30), time(9)), WORKDAYS, "morning"),
            TimetableEntry(Hours(time(20), time(0)), frozenset(Weekday), "evening"),
        ),
        interrupts=(Interrupt("forecast.alerts", "warning"),),
    )
    hall = wall.displays["hall"]
    assert hall.page_px == (480, 648)
    assert hall.read_from_m == 2
    assert hall.where == Where("wall.toml", 18, "displays.hall")
    assert hall.timetable[1].where == Where("wall.toml", 27, "displays.hall.timetable[1]")
    assert list(hall.sheets()) == ["hall", "morning", "evening", "warning"]


def test_which_sheet_when(wall: Wall) -> None:
    hall, zone = wall.displays["hall"], wall.time_zone
    friday = datetime(2026, 3, 27, tzinfo=zone)
    shown = [hall.sheet_at(friday.replace(hour=hour)) for hour in (6, 7, 9, 19, 20, 23)]
    assert shown == ["hall", "morning", "hall", "hall", "evening", "evening"]
    assert hall.sheet_at(friday.replace(day=28, hour=7)) == "hall"  # a Saturday
    assert [hall.is_quiet(friday.replace(hour=hour)) for hour in (5, 6, 22, 23)] == [True, False, False, True]


def test_what_may_be_left_unsaid(make_wall: MakeWall) -> None:
    text = """
[wall]
name = "Hut"
place = { latitude = 0, longitude = 0 }
time_zone = "UTC"
[displays.porch-1]
panel = "2.9in-296x128-black-white"
read_from = "1 m"
sheet = "hall"
"""
    wall = load_wall(make_wall(text))
    assert wall.language == "en"
    assert (wall.place.elevation, dict(wall.units), dict(wall.sources)) == (None, {}, {})
    porch = wall.displays["porch-1"]
    assert (porch.turned, porch.every, porch.quiet) == (0, timedelta(minutes=30), None)
    assert (porch.timetable, porch.interrupts) == ((), ())


def test_a_display_that_the_wall_does_not_have(wall: Wall) -> None:
    with pytest.raises(WallError, match="no display 'hal'") as caught:
        wall.display("hal")
    assert caught.value.mend == "Did you mean 'hall'?"


def test_the_walls_own_panel(make_wall: MakeWall) -> None:
    folder = make_wall(GOOD.replace("5.8in-648x480-black-white-red", "mine"))
    (folder / "panels").mkdir()
    (folder / "panels" / "mine.toml").write_text('like = "4.2in-400x300-black-white"', encoding="utf-8")
    assert load_wall(folder).displays["hall"].panel.width_px == 400
    (folder / "panels" / "mine.toml").write_text("pixels = 5", encoding="utf-8")
    with pytest.raises(FaultList) as caught:
        load_wall(folder)
    assert caught.value.faults[0].where.file == "panels/mine.toml"


def test_folders_that_are_no_wall(tmp_path: Path, make_wall: MakeWall) -> None:
    with pytest.raises(WallError, match=r"no wall\.toml in this folder") as caught:
        load_wall(tmp_path)
    assert "wallbill new" in caught.value.mend
    folder = make_wall()
    with pytest.raises(WallError, match="no such folder") as caught:
        load_wall(tmp_path / "quai")
    assert caught.value.mend == "Did you mean 'quay'?"
    with pytest.raises(WallError, match="no such folder") as caught:
        load_wall(tmp_path / "far" / "away")
    assert "wallbill new" in caught.value.mend
    with pytest.raises(WallError, match="not a folder") as caught:
        load_wall(folder / "wall.toml")
    assert "not its wall.toml" in caught.value.mend


def test_a_wall_that_is_not_utf_8(make_wall: MakeWall) -> None:
    folder = make_wall()
    (folder / "wall.toml").write_bytes(GOOD.encode("latin-1"))
    with pytest.raises(WallError, match="not UTF-8") as caught:
        load_wall(folder)
    assert caught.value.where == Where("wall.toml", 6)


def test_secrets_come_from_the_environment_first(make_wall: MakeWall) -> None:
    folder = make_wall()
    wall = load_wall(folder)
    filled, troubles = load_secrets(wall, {"ROTA_ADDRESS": "https://quay.example/rota.ics"})
    assert filled["rota"].options == {"url": "https://quay.example/rota.ics"}
    assert not troubles
    (folder / "secrets.toml").write_text('ROTA_ADDRESS = "https://from.file/"', encoding="utf-8")
    (folder / "secrets.toml").chmod(0o600)
    assert load_secrets(wall, {})[0]["rota"].options["url"] == "https://from.file/"
    assert load_secrets(wall, {"ROTA_ADDRESS": "x"})[0]["rota"].options["url"] == "x"


def test_a_missing_secret_hides_its_own_source_only(make_wall: MakeWall) -> None:
    filled, troubles = load_secrets(load_wall(make_wall()), {})
    assert list(filled) == ["forecast"]
    assert troubles["rota"].where == Where("wall.toml", 14, "sources.rota")
    assert "ROTA_ADDRESS is not set" in troubles["rota"].what
    assert "secrets.toml" in troubles["rota"].mend


@pytest.mark.parametrize("mode", [0o640, 0o604, 0o644, 0o660])
def test_a_secrets_file_that_others_can_read_is_refused(make_wall: MakeWall, mode: int) -> None:
    folder = make_wall()
    (folder / "secrets.toml").write_text('ROTA_ADDRESS = "hidden"', encoding="utf-8")
    (folder / "secrets.toml").chmod(mode)
    with pytest.raises(WallError, match=f"mode {mode:04o}") as caught:
        load_wall(folder)
    assert "chmod 600" in caught.value.mend
    assert "hidden" not in str(caught.value)


def test_secrets_are_never_printed(make_wall: MakeWall) -> None:
    wall = load_wall(make_wall())
    filled, _ = load_secrets(wall, {"ROTA_ADDRESS": "https://quay.example/very-private"})
    assert "very-private" not in repr(filled["rota"]) + str(filled["rota"]) + repr(wall)


def test_secrets_deep_in_the_options(make_wall: MakeWall) -> None:
    text = (
        GOOD
        + """
[sources.tides]
kind = "series"
url = "https://tides.example/"
headers = { Authorization = { secret = "TIDES" } }
columns = { level = { column = "level_m", unit = "m" } }
"""
    )
    wall = load_wall(make_wall(text))
    filled, _ = load_secrets(wall, {"TIDES": "Bearer abc", "ROTA_ADDRESS": "x"})
    assert filled["tides"].options["headers"] == {"Authorization": "Bearer abc"}


SERVED = (
    GOOD
    + """
[store]
url = { secret = "DATABASE" }
keep = "30 d"
[watch]
webhook = "https://notices.example/quay"
missed_wakes = 3
battery_ahead = "14 d"
mail = { to = ["keeper@quay.example"], from = "Hut <hut@quay.example>", host = "mail.example", security = "tls", user = "hut", password = { secret = "MAIL" } }
"""
).replace('{ secret = "ROTA_ADDRESS" }', '"https://rota.example/"')


def test_what_the_server_keeps_and_whom_it_tells(make_wall: MakeWall) -> None:
    wall = load_wall(
        make_wall(SERVED.replace('sheet = "hall"\n', 'sheet = "hall"\nbattery_empty = "3.3 V"\n'))
    )
    assert wall.store == StoreSettings(SecretRef("DATABASE"), timedelta(days=30))
    assert wall.watch == WatchSettings(
        webhook="https://notices.example/quay",
        mail=MailSettings(
            to=("keeper@quay.example",),
            sender="Hut <hut@quay.example>",
            host="mail.example",
            port=465,  # RFC 8314, 7.3
            security="tls",
            user="hut",
            password=SecretRef("MAIL"),
        ),
        missed_wakes=3,
        battery_ahead=timedelta(days=14),
    )
    assert wall.displays["hall"].battery_empty == Quantity(3.3, "V")
    assert secrets_of(wall) == ("DATABASE", "MAIL")


def test_a_password_may_go_to_this_machine_in_the_open(make_wall: MakeWall) -> None:
    for host in ("localhost", "127.0.0.1", "[::1]"):
        text = SERVED.replace('security = "tls"', 'security = "none"').replace("mail.example", host)
        mail = load_wall(make_wall(text)).watch.mail
        assert mail is not None
        assert mail.port == 25  # RFC 5321, 4.5.4.2


def test_left_out_the_server_has_its_own_ways(wall: Wall) -> None:
    assert wall.store == StoreSettings(None, timedelta(days=90))
    assert wall.watch == WatchSettings(None, None, 2, timedelta(days=7))
    assert secrets_of(wall) == ("ROTA_ADDRESS",)


def test_a_secret_of_the_server_is_looked_up_where_those_of_sources_are(
    make_wall: MakeWall, tmp_path: Path
) -> None:
    folder = make_wall(SERVED)
    wall = load_wall(folder)
    url = wall.store.url
    assert isinstance(url, SecretRef)
    assert secret_value(wall, "https://plain.example/", {}) == "https://plain.example/"
    with pytest.raises(WallError, match="DATABASE is not set") as caught:
        secret_value(wall, url, {"DATABASE": ""})
    assert caught.value.where == Where("wall.toml", None, "store.url")
    assert "chmod" not in caught.value.mend
    assert "secrets.toml" in caught.value.mend
    (folder / "secrets.toml").write_text('DATABASE = "from the file"', encoding="utf-8")
    (folder / "secrets.toml").chmod(0o600)
    assert secret_value(wall, url, {}) == "from the file"
    handed = tmp_path / "handed"
    handed.mkdir()
    (handed / "DATABASE").write_text("handed over\n", encoding="utf-8")
    given = {"CREDENTIALS_DIRECTORY": str(handed)}
    assert secret_value(wall, url, given) == "handed over"
    assert secret_value(wall, url, given | {"DATABASE": "from the environment"}) == "from the environment"
    assert secret_value(wall, SecretRef("MAIL"), given | {"MAIL": "x"}) == "x"
    (handed / "DATABASE").write_bytes(b"\xff")
    assert secret_value(wall, url, given) == "from the file"


def test_sources_get_secrets_that_were_handed_over(make_wall: MakeWall, tmp_path: Path) -> None:
    (tmp_path / "ROTA_ADDRESS").write_text("https://rota.example/", encoding="utf-8")
    filled, troubles = load_secrets(load_wall(make_wall()), {"CREDENTIALS_DIRECTORY": str(tmp_path)})
    assert filled["rota"].options["url"] == "https://rota.example/"
    assert not troubles


def test_a_secrets_file_is_refused_even_if_only_the_server_needs_it(make_wall: MakeWall) -> None:
    folder = make_wall(SERVED)
    (folder / "secrets.toml").write_text('MAIL = "hidden"', encoding="utf-8")
    (folder / "secrets.toml").chmod(0o644)
    with pytest.raises(WallError, match="mode 0644"):
        load_wall(folder)


def test_interrupts_of_the_quiet_hours(make_wall: MakeWall) -> None:
    text = GOOD.replace(
        'sheet = "warning" }',
        'sheet = "warning" }, { when = "rota.late", sheet = "hall", even_quiet = true }',
    )
    hall = load_wall(make_wall(text)).displays["hall"]
    assert interrupts_at(hall, quiet=False) == hall.interrupts
    assert interrupts_at(hall, quiet=True) == hall.interrupts[1:]
