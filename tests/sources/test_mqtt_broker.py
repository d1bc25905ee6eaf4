"""Gathering from a real broker, and from what only pretends to be one."""

import contextlib
import socket
import ssl
import threading
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
import trustme
from tests.sources.broker import RunningBroker, broker, free_port
from tests.sources.house_bench import House, spec_of
from tests.sources.web_server import raw_server

from wallbill.errors import WallbillError
from wallbill.facts.origin import Freshness
from wallbill.facts.supply import Supplied
from wallbill.facts.values import Group, Value, Values
from wallbill.sources.shell_keeping import Keeper
from wallbill.sources.spec import SourceSpec
from wallbill.units.quantity import Quantity

PROTOCOLS = ("3.1.1", "5")


@pytest.fixture(scope="module")
def running(tmp_path_factory: pytest.TempPathFactory) -> Iterator[RunningBroker]:
    with broker(tmp_path_factory.mktemp("broker")) as found:
        yield found


@pytest.fixture
def house(tmp_path: Path) -> Iterator[House]:
    with Keeper(tmp_path / ".wallbill" / "facts.sqlite") as keeper:
        yield House(tmp_path, keeper)


def source(
    port: int, *, listen: str = "1 s", host: str = "127.0.0.1", values: Any = None, **more: Any
) -> SourceSpec:
    asked = {"boiler": {"topic": "house/boiler", "unit": "°C"}} if values is None else values
    return spec_of("mqtt", broker=host, port=port, listen=listen, values=asked, **more)


def boiler(given: Supplied) -> Value:
    assert isinstance(given.fact, Values), given.trouble
    found = given.fact.boiler
    assert isinstance(found, Value)
    return found


def trouble(given: Supplied) -> WallbillError:
    assert given.trouble is not None
    assert given.trouble.mend
    assert "hunter2" not in str(given.trouble)
    return given.trouble


def waiting_s(house: House, given: Supplied) -> float:
    """How long it is until a source is asked again."""
    assert given.due_at is not None
    return (given.due_at - house.now).total_seconds()


@contextlib.contextmanager
def publishing(running: RunningBroker, topic: str, payload: str) -> Iterator[None]:
    """A device that publishes again and again, and retains nothing."""
    over = threading.Event()

    def speak() -> None:
        while not over.wait(0.1):
            running.publish(topic, payload)

    device = threading.Thread(target=speak)
    device.start()
    try:
        yield
    finally:
        over.set()
        device.join()


@pytest.mark.parametrize("protocol", PROTOCOLS)
def test_a_retained_message_comes_at_once_and_with_no_age(
    house: House, running: RunningBroker, protocol: str
) -> None:
    topic = f"retained/{protocol}"
    running.publish(topic, "61.5", retain=True)
    begun = time.monotonic()
    given = house.get(
        source(
            running.port, listen="20 s", protocol=protocol, values={"boiler": {"topic": topic, "unit": "°C"}}
        )
    )
    assert time.monotonic() - begun < 5  # every topic has spoken, so nobody waits
    assert given.trouble is None
    assert (boiler(given).quantity, boiler(given).at) == (Quantity(61.5, "°C"), None)
    assert given.freshness(house.now) is Freshness.STALE
    assert [finding.rule for finding in given.findings] == ["sources.age-unknown"]


@pytest.mark.parametrize("protocol", PROTOCOLS)
def test_a_live_message_has_its_moment(house: House, running: RunningBroker, protocol: str) -> None:
    topic = f"live/{protocol}"
    spec = source(
        running.port, listen="2 s", protocol=protocol, values={"boiler": {"topic": topic, "unit": "°C"}}
    )
    with publishing(running, topic, "61.5"):
        given = house.get(spec)
    assert (boiler(given).value, boiler(given).at) == (61.5, house.now)
    assert given.freshness(house.now) is Freshness.FRESH
    assert given.due_at is not None
    house.pass_(minutes=5)
    later = house.get(spec)  # it is silent now, and what it said stays with its moment
    assert (boiler(later).value, boiler(later).at) == (61.5, boiler(given).at)


def test_a_retained_message_that_is_cleared_leaves_no_value(house: House, running: RunningBroker) -> None:
    spec = source(running.port, values={"boiler": {"topic": "cleared", "unit": "°C"}})
    running.publish("cleared", "61.5", retain=True)
    assert boiler(house.get(spec)).value == 61.5
    house.pass_(minutes=2)
    running.publish("cleared", None, retain=True)
    given = house.get(spec)
    assert given.trouble is None
    assert boiler(given).value is None
    assert given.freshness(house.now) is Freshness.MISSING


def test_a_topic_that_never_spoke_has_no_value(house: House, running: RunningBroker) -> None:
    begun = time.monotonic()
    given = house.get(source(running.port, values={"boiler": {"topic": "silent"}}))
    assert 0.9 < time.monotonic() - begun < 5
    assert (given.trouble, boiler(given).value) == (None, None)


def test_a_filter_gives_a_group_and_listens_to_the_end(house: House, running: RunningBroker) -> None:
    for room, payload in (("kitchen", "19.5"), ("sail loft", "14"), ("hall", "warm")):
        running.publish(f"rooms/{room}/temp", payload, retain=True)
    given = house.get(source(running.port, values={"rooms": {"topic": "rooms/+/temp", "unit": "°C"}}))
    assert isinstance(given.fact, Values)
    rooms = given.fact.rooms
    assert isinstance(rooms, Group)
    assert [(room.name, room.value) for room in rooms.entries] == [
        ("hall", None),
        ("kitchen", 19.5),
        ("sail loft", 14.0),
    ]
    assert [finding.where.field for finding in given.findings if finding.rule == "sources.left-out"] == [
        "rooms.hall"
    ]


def test_availability_by_a_will(house: House, running: RunningBroker) -> None:
    spec = source(running.port, values={"boiler": {"topic": "dev/temp", "availability": "dev/is"}})
    running.publish("dev/temp", "5", retain=True)
    running.publish("dev/is", "online", retain=True)
    assert house.get(spec).freshness(house.now) is Freshness.FRESH
    running.publish("dev/is", "offline", retain=True)
    house.pass_(minutes=2)
    given = house.get(spec)
    assert (boiler(given).value, boiler(given).online) == (5.0, False)
    assert given.freshness(house.now) is Freshness.STALE


def test_a_broker_is_not_visited_again_before_it_is_due_unless_the_wishes_change(
    house: House, running: RunningBroker
) -> None:
    running.publish("due", "1", retain=True)
    spec = source(running.port, values={"boiler": {"topic": "due"}})
    assert boiler(house.get(spec)).value == 1.0
    running.publish("due", "2", retain=True)
    assert boiler(house.get(spec)).value == 1.0
    other = source(running.port, values={"boiler": {"topic": "due", "unit": "W"}})
    assert boiler(house.get(other)).quantity == Quantity(2.0, "W")
    house.pass_(minutes=1)
    running.publish("due", "3", retain=True)
    assert boiler(house.get(spec)).value == 3.0


def test_offline_nothing_is_asked_and_what_was_kept_is_read(house: House, running: RunningBroker) -> None:
    running.publish("kept", "8", retain=True)
    spec = source(running.port, values={"boiler": {"topic": "kept"}})
    nothing = house.get(spec, offline=True)
    assert nothing.fact is None
    assert "the network is not to be used" in trouble(nothing).what
    house.get(spec)
    running.publish("kept", "9", retain=True)
    house.pass_(hours=1)
    assert boiler(house.get(spec, offline=True)).value == 8.0


def test_without_a_keeper_too(tmp_path: Path, running: RunningBroker) -> None:
    running.publish("nowhere", "8", retain=True)
    assert (
        boiler(House(tmp_path, None).get(source(running.port, values={"boiler": {"topic": "nowhere"}}))).value
        == 8.0
    )


@pytest.mark.parametrize("protocol", PROTOCOLS)
def test_a_password_is_needed_and_never_shown(house: House, tmp_path: Path, protocol: str) -> None:
    with broker(tmp_path / "locked", login=("keeper", "hunter2")) as locked:
        locked.publish("house/boiler", "61.5", retain=True)
        good = source(locked.port, user="keeper", password="hunter2", protocol=protocol)
        for wrong in ({}, {"user": "keeper", "password": "hunter3"}, {"user": "keeper"}):
            given = house.get(source(locked.port, protocol=protocol, **wrong))
            assert given.fact is None
            assert "user and password" in trouble(given).what
            assert trouble(given).where.field == "127.0.0.1"
        assert boiler(house.get(good)).value == 61.5  # other settings, so nobody waits


@pytest.mark.parametrize("protocol", PROTOCOLS)
def test_a_topic_that_the_broker_does_not_let_us_hear(house: House, tmp_path: Path, protocol: str) -> None:
    rules = ["user keeper", "topic readwrite house/#"]
    with broker(tmp_path / "ruled", login=("keeper", "hunter2"), rules=rules) as ruled:
        ruled.publish("house/boiler", "61.5", retain=True)
        login = {"user": "keeper", "password": "hunter2", "protocol": protocol}
        assert boiler(house.get(source(ruled.port, **login))).value == 61.5
        # mosquitto 2 grants any subscription and then says nothing: no value, and no trouble
        given = house.get(source(ruled.port, values={"boiler": {"topic": "secret"}}, **login))
        assert boiler(given).value is None


def test_tls_with_an_authority_of_ones_own(house: House, tmp_path: Path) -> None:
    with broker(house.folder / "tls", tls=True) as safe:
        safe.publish("house/boiler", "61.5", retain=True)
        ours = source(safe.port, host="localhost", ca="tls/authority.pem")
        assert boiler(house.get(ours)).value == 61.5
        for wrong, words in (
            (source(safe.port, host="localhost", tls=True), "cannot be trusted"),  # issued by nobody we trust
            (
                source(safe.port, host="127.0.0.1", ca="tls/authority.pem"),
                "cannot be trusted",
            ),  # another name
            (source(safe.port, host="localhost", ca="tls/broker.conf"), "holds no certificates"),
            (source(safe.port, host="localhost", ca="nowhere.pem"), "holds no certificates"),
            (source(safe.port, host="localhost", ca="../x.pem"), "outside the wall folder"),
            (source(safe.port, host="localhost"), "broke the connection off"),  # plain words to a TLS port
        ):
            assert words in trouble(House(house.folder, None).get(wrong)).what, words


def test_plain_brokers_do_not_speak_tls(house: House, running: RunningBroker) -> None:
    given = house.get(source(running.port, host="localhost", tls=True))
    assert "does not speak TLS" in trouble(given).what or "broke the connection off" in trouble(given).what


def test_a_broker_that_goes_leaves_what_it_said(house: House, tmp_path: Path) -> None:
    with broker(tmp_path / "going") as going:
        going.publish("house/boiler", "61.5", retain=True)
        spec = source(going.port)
        assert boiler(house.get(spec)).value == 61.5
    house.pass_(hours=7)
    given = house.get(spec)
    assert boiler(given).value == 61.5
    assert "cannot be reached" in trouble(given).what
    assert given.freshness(house.now) is Freshness.STALE
    assert 300 <= waiting_s(house, given) <= 900  # it is the wall's own: visited again before long
    for _ in range(8):
        house.pass_(seconds=waiting_s(house, given))
        given = house.get(spec)
    assert waiting_s(house, given) <= 900


def test_a_broker_that_dies_while_we_listen(house: House, tmp_path: Path) -> None:
    with broker(tmp_path / "dying") as dying:
        threading.Timer(0.5, dying.process.kill).start()
        begun = time.monotonic()
        given = house.get(source(dying.port, listen="10 s"))
        assert time.monotonic() - begun < 5
        assert "broke the connection off" in trouble(given).what


def test_a_port_where_nothing_listens(house: House) -> None:
    assert "cannot be reached" in trouble(house.get(source(free_port()))).what


def test_a_host_that_there_is_not(house: House) -> None:
    given = house.get(source(1883, host="broker.fennel-quay.invalid"))
    assert "cannot be reached" in trouble(given).what


def test_what_accepts_and_says_nothing_is_given_up_in_time(house: House) -> None:
    house.fetch_s = 1.0
    with socket.create_server(("127.0.0.1", 0)) as silent:
        port = silent.getsockname()[1]
        for more in ({}, {"tls": True}, {"protocol": "5"}):
            begun = time.monotonic()
            given = House(house.folder, None, fetch_s=1.0).get(source(port, **more), total_s=4.0)
            assert time.monotonic() - begun < 6
            assert "no answer within" in trouble(given).what or "given up" in trouble(given).what


def test_what_is_no_broker_is_told(house: House) -> None:
    with raw_server(b"HTTP/1.0 400 Bad Request\r\n\r\n") as port:
        given = house.get(source(port))
        assert trouble(given).what.startswith(
            ("it broke the connection off", "no answer", "cannot be reached")
        )


@contextlib.contextmanager
def half_a_broker(*replies: bytes) -> Iterator[int]:
    """Says one thing after each packet that it gets, then keeps silent."""
    with socket.create_server(("127.0.0.1", 0)) as listener:
        kept: list[socket.socket] = []

        def serve() -> None:
            with contextlib.suppress(OSError):
                while True:
                    connection, _ = listener.accept()
                    kept.append(connection)
                    for reply in replies:
                        connection.recv(65536)
                        connection.sendall(reply)

        threading.Thread(target=serve, daemon=True).start()
        try:
            yield listener.getsockname()[1]
        finally:
            for connection in kept:
                connection.close()


# Packets by the standard (OASIS MQTT 3.1.1, 3.2 and 3.9, from memory): CONNACK accepted, SUBACK with a failure for packet 1.
CONNACK, SUBACK_REFUSED = b"\x20\x02\x00\x00", b"\x90\x03\x00\x01\x80"


def test_a_subscription_that_is_refused_or_never_confirmed(tmp_path: Path) -> None:
    with half_a_broker(CONNACK, SUBACK_REFUSED) as port:
        given = House(tmp_path, None).get(source(port))
        assert "does not let us listen to house/boiler" in trouble(given).what
    with half_a_broker(CONNACK) as port:
        given = House(tmp_path, None, fetch_s=1.0).get(source(port))
        assert "no answer within 1 s" in trouble(given).what


@pytest.mark.parametrize(
    "reply",
    [
        b"\x20\x02\x00\x03",
        b"\x20\x00",
        b"\xff" * 40,
        b"\x30\x05\x00\xff\xff\xff\xff",
        b"\x20\x02\x00\x00\x30\x04\x00\x02\xff\xfe",
    ],
)
def test_whatever_a_broker_says_is_our_own_trouble(tmp_path: Path, reply: bytes) -> None:
    with half_a_broker(reply) as port:
        given = House(tmp_path, None, fetch_s=1.0).get(source(port))
        assert "its reader failed" not in trouble(given).what


def test_the_program_trusts_nobody_without_being_told(tmp_path: Path) -> None:
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    trustme.CA().issue_cert("localhost").configure_cert(context)
    with socket.create_server(("127.0.0.1", 0)) as listener:

        def serve() -> None:
            with contextlib.suppress(OSError):
                connection, _ = listener.accept()
                with context.wrap_socket(connection, server_side=True):
                    pass

        server = threading.Thread(target=serve)
        server.start()
        port = listener.getsockname()[1]
        given = House(tmp_path, None).get(source(port, host="localhost", tls=True))
        server.join()
    assert "certificate cannot be trusted" in trouble(given).what
