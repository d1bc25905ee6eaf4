"""Own functions, called for real in processes of their own."""

import json
import time
from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta
from datetime import time as clock_time
from pathlib import Path
from types import MappingProxyType
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from wallbill.errors import Place, SourceError
from wallbill.facts.given import Given, freeze
from wallbill.facts.origin import Origin
from wallbill.sources.own import own_function, parse
from wallbill.sources.own_values import decoded, encoded, reply_of
from wallbill.sources.shell_own import OwnLimits, call_own
from wallbill.sources.spec import ParseContext, SourceSpec
from wallbill.units.quantity import Quantity

LONDON = ZoneInfo("Europe/London")
NOW = datetime(2026, 6, 30, 23, 30, tzinfo=UTC)
Call = Callable[..., Any]


def _context(**options: Any) -> ParseContext:
    options.setdefault("function", "rota:who_is_on")
    spec = SourceSpec("rota", "own", MappingProxyType(options), None, None, Place("wall.toml", 20))
    return ParseContext(spec, LONDON, 50.31, -4.05, NOW, NOW, "en-GB")


@pytest.fixture
def call(tmp_path: Path) -> Call:
    """Writes facts/rota.py and calls its function, in the way that a gathering does."""
    (tmp_path / "facts").mkdir()

    def made(code: str, limits: OwnLimits | None = None, **options: Any) -> Any:
        (tmp_path / "facts" / "rota.py").write_text(code, encoding="utf-8")
        context = _context(**options)
        return parse(call_own(tmp_path, context, limits=limits), context).value

    return made


def test_a_function_gets_what_it_asks_for(call: Call) -> None:
    code = """
from collections.abc import Mapping
from datetime import date, datetime

def who_is_on(now: datetime, today: date, *, place: Mapping[str, object], options: Mapping[str, object], more=3):
    return [now, today, place["latitude_deg"], place["time_zone"], options["crew"], more]
"""
    assert call(code, options={"crew": 4}) == (
        datetime(2026, 7, 1, 0, 30, tzinfo=LONDON),
        date(2026, 7, 1),
        50.31,
        "Europe/London",
        4,
        3,
    )
    assert call("def who_is_on(): return 7") == 7
    assert call("def who_is_on(**given): return sorted(given)") == ("now", "options", "place", "today")


def test_plain_values_come_back_frozen(call: Call) -> None:
    code = """
import enum, collections, dataclasses, datetime, decimal
from wallbill.units.quantity import Quantity

class Watch(enum.Enum):
    FIRST = "first"

@dataclasses.dataclass
class Person:
    name: str
    jobs: list

Place = collections.namedtuple("Place", "pier berth")

def who_is_on():
    return {
        "people": [Person("Orla", ["oars", None]), Person("Tam", [])],
        "watch": Watch.FIRST, "place": Place("north", 3), "share": decimal.Decimal("0.5"), "open": True,
        "from": datetime.time(9, 30), "for": datetime.timedelta(minutes=90), "naive": datetime.datetime(2026, 7, 1, 9),
        "tide": Quantity(3.2, "m"), "é": "ß",
    }
"""
    value = call(code)
    assert value["people"] == ({"name": "Orla", "jobs": ("oars", None)}, {"name": "Tam", "jobs": ()})
    assert (value["watch"], value["place"], value["share"], value["open"]) == (
        "first", {"pier": "north", "berth": 3}, 0.5, True,
    )  # fmt: skip
    assert (value["from"], value["for"]) == (clock_time(9, 30), timedelta(minutes=90))
    assert value["naive"] == datetime(2026, 7, 1, 9, tzinfo=LONDON)
    assert (value["tide"], value["é"]) == (Quantity(3.2, "m"), "ß")
    with pytest.raises(TypeError):
        value["people"] = 3
    with pytest.raises(TypeError):
        value["people"][0]["name"] = "Bryn"


def test_other_modules_and_files_of_the_wall_can_be_used(call: Call, tmp_path: Path) -> None:
    (tmp_path / "facts" / "crew.py").write_text("CREW = ['Orla']\n", encoding="utf-8")
    (tmp_path / "facts" / "names.txt").write_text("Bryn\n", encoding="utf-8")
    code = "from crew import CREW\ndef who_is_on(): return [*CREW, open('facts/names.txt').read().strip()]"
    assert call(code) == ("Orla", "Bryn")
    assert not list(tmp_path.rglob("__pycache__"))


def test_what_is_printed_does_not_get_into_the_data(call: Call, capfd: pytest.CaptureFixture[str]) -> None:
    code = """
import os, sys, subprocess
print("while loading")
def who_is_on():
    print('{"value": "forged"}')
    os.write(1, b"raw\\n")
    subprocess.run(["echo", "a child of the child"])
    return "true"
"""
    assert call(code) == "true"
    out, err = capfd.readouterr()
    assert out == ""
    assert all(text in err for text in ("while loading", "forged", "raw", "a child of the child"))


@pytest.mark.parametrize(
    ("code", "line", "what"),
    [
        ("def who_is_on(today):\n    return today / 0\n", 2, "TypeError: unsupported operand"),
        (
            "def helper():\n    raise ValueError('no crew\\nleft')\n\ndef who_is_on():\n    helper()\n",
            2,
            "left",
        ),
        ("import nothing_of_that_name\n", 1, "ModuleNotFoundError"),
        ("def who_is_on(:\n", 1, "it is no Python"),
        ("import json\ndef who_is_on():\n    json.loads('x')\n", 3, "JSONDecodeError"),
        ("\n\ndef who_is_on(weather): return 1\n", 3, "it asks for 'weather'"),
        ("def who_is_on(today, /): return 1\n", 1, "it asks for 'today'"),
        ("async def who_is_on(): return 1\n", 1, "asynchronous"),
        ("def who_is_on(): return {'crew': [1, {2}]}\n", 1, "the result.crew[1] is of type set"),
        ("def who_is_on(): return {1: 'one'}\n", 1, "the result has the key 1"),
        ("def who_is_on(): return float('nan')\n", 1, "no finite number"),
        ("def who_is_on():\n    x = []\n    x.append(x)\n    return x\n", 1, "nested more than"),
        ("def who_is_on(): return 'x' * 2_000_000\n", 1, "MiB"),
        ("def who_is_on(): return (n for n in range(3))\n", 1, "generator"),
        ("def other(): return 1\n", None, "there is no function who_is_on"),
        ("import sys\ndef who_is_on(): sys.exit('bye')\n", None, "it ended its process (bye)"),
        ("import os\ndef who_is_on(): os._exit(3)\n", None, "ended with status 3"),
        (
            "import os, signal\ndef who_is_on(): os.kill(os.getpid(), signal.SIGSEGV)\n",
            None,
            "ended by SIGSEGV",
        ),
        ("def who_is_on(): return bytearray(10**10)\n", None, "out of memory"),
        ("def who_is_on(): return who_is_on()\n", 1, "RecursionError"),
    ],
)
def test_a_fault_is_told_with_the_users_own_file_and_line(
    call: Call, code: str, line: int | None, what: str
) -> None:
    with pytest.raises(SourceError) as caught:
        call(code)
    assert what in caught.value.what
    assert caught.value.where == Place("facts/rota.py", line, "who_is_on")
    assert caught.value.mend


def test_a_function_that_hangs_is_stopped_with_its_children(call: Call, tmp_path: Path) -> None:
    code = """
import subprocess, time
def who_is_on():
    subprocess.Popen(["sh", "-c", "sleep 1.5; touch late"])
    time.sleep(60)
"""
    with pytest.raises(SourceError, match=r"more than 0\.8 s"):
        call(code, limits=OwnLimits(seconds=0.8))
    time.sleep(1.2)
    assert not (tmp_path / "late").exists()


def test_threads_that_never_end_do_not_hold_the_answer(call: Call) -> None:
    code = """
import threading, time
def who_is_on():
    threading.Thread(target=lambda: time.sleep(60)).start()
    return "here"
"""
    assert call(code, limits=OwnLimits(seconds=8)) == "here"


def test_secrets_of_the_environment_stay_outside(call: Call, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("WALL_SECRET", "hidden")
    code = "import os\ndef who_is_on(): return [os.environ.get('WALL_SECRET'), os.environ['TZ']]"
    assert call(code) == (None, "Europe/London")


@pytest.mark.parametrize("said", [None, "", "rota", "rota:", "../rota:f", "rota:f()", "a.b:c", 3])
def test_a_name_that_is_no_function_is_told(said: object) -> None:
    context = _context(function=said)
    with pytest.raises(SourceError) as caught:
        own_function(context.spec)
    assert caught.value.where == Place("wall.toml", 20, "function")


def test_a_file_that_is_not_there_is_told(tmp_path: Path) -> None:
    (tmp_path / "facts").mkdir()
    with pytest.raises(SourceError, match=r"there is no file facts/rota\.py"):
        call_own(tmp_path, _context())


@pytest.mark.parametrize("options", [3, "crew", {"crew": object()}])
def test_options_that_cannot_be_handed_over_are_told(tmp_path: Path, options: object) -> None:
    (tmp_path / "facts").mkdir()
    with pytest.raises(SourceError, match="options"):
        call_own(tmp_path, _context(options=options))


@pytest.mark.parametrize("reply", [b"", b"x", b"[]", b'{"value": ["what", 1]}', b'{"value": ["date", "x"]}'])
def test_a_reply_that_is_spoilt_is_told(reply: bytes) -> None:
    with pytest.raises(SourceError):
        parse(reply, _context())


plain = st.recursive(
    st.one_of(
        st.none(), st.booleans(), st.integers(), st.floats(allow_nan=False, allow_infinity=False), st.text(),
        st.dates(), st.datetimes(timezones=st.just(UTC)), st.timedeltas(), st.times(),
        st.builds(Quantity, st.floats(-1e6, 1e6), st.sampled_from(["°C", "m", "%"])),
    ),
    lambda inner: st.one_of(st.lists(inner, max_size=4), st.dictionaries(st.text(), inner, max_size=4)),
    max_leaves=20,
)  # fmt: skip


@given(value=plain)
def test_values_survive_the_way_and_come_back_frozen(value: object) -> None:
    back = decoded(json.loads(json.dumps(encoded(value, zone=LONDON))))
    assert back == freeze(value)
    assert parse(reply_of(value, zone=LONDON), _context()).value == back


def test_given_is_frozen_and_checked() -> None:
    origin = Origin("rota", "own", "", None, NOW)
    kept = Given(origin, {"crew": ["Orla"]})
    assert kept.value == {"crew": ("Orla",)}
    with pytest.raises(TypeError, match=r"value\.crew\[0\] is of type set"):
        Given(origin, {"crew": [{1}]})
    with pytest.raises(ValueError, match="finite"):
        Given(origin, float("inf"))
    with pytest.raises(TypeError, match="the key 1"):
        Given(origin, {1: 2})
    deep: list[object] = []
    for _ in range(40):
        deep = [deep]
    with pytest.raises(ValueError, match="deep"):
        Given(origin, deep)
