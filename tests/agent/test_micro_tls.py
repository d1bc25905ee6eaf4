"""The twin speaks TLS with its own server only, and needs a clock that can be believed. Run for real in MicroPython."""

import socket
import ssl
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
import trustme

from tests.agent.fault_server import FaultServer, picture
from tests.agent.micro_twin import MADE_S, cpython, micropython, settle, wake

NOW_S = int(datetime.now(UTC).timestamp())
PYTHONS = {"micropython": micropython(), "cpython": cpython()}


@contextmanager
def _serving(certificate: trustme.LeafCert) -> Iterator[FaultServer]:
    """The server of faults behind TLS, whose own clock is right."""
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    certificate.configure_cert(context)
    server = FaultServer(picture(1))
    listener = socket.create_server(("127.0.0.1", 0))
    server.address = f"https://localhost:{listener.getsockname()[1]}"

    def listen() -> None:
        while True:
            try:
                raw, _ = listener.accept()
            except OSError:
                return
            try:
                raw.settimeout(5)
                server.answer(context.wrap_socket(raw, server_side=True))
            except OSError:
                raw.close()

    thread = threading.Thread(target=listen)
    thread.start()
    try:
        yield server
    finally:
        server.release()
        listener.shutdown(socket.SHUT_RDWR)
        listener.close()
        thread.join()


def _settle(folder: Path, server: FaultServer, ca: trustme.CA, **over: Any) -> None:
    patience = {"quiet_ms": 5000, "patience_ms": 10000}
    settle(folder, server.address, **patience | over)
    (folder / "ca.der").write_bytes(ssl.PEM_cert_to_DER_cert(ca.cert_pem.bytes().decode()))


@pytest.fixture(scope="module")
def ca() -> trustme.CA:
    """An authority."""
    return trustme.CA()


@pytest.fixture(params=PYTHONS)
def python(request: pytest.FixtureRequest) -> list[str]:
    """Each Python that the twin runs on."""
    return PYTHONS[request.param]


def test_the_right_server_is_believed(tmp_path: Path, ca: trustme.CA, python: list[str]) -> None:
    glass = tmp_path / "glass"
    with _serving(ca.issue_cert("localhost")) as server:
        _settle(tmp_path, server, ca)
        (said,) = wake(python, tmp_path, glass, clock_s=NOW_S)
        assert (said["status"], glass.read_bytes()) == ("shown", picture(1).plates)
        server.picture = picture(2)
        (said,) = wake(python, tmp_path, glass, clock_s=NOW_S)
        assert (said["status"], glass.read_bytes()) == ("shown", picture(2).plates)
        assert server.reports[0].headers["authorization"].startswith("Bearer ")


def _refused(tmp_path: Path, certificate: trustme.LeafCert, ca: trustme.CA, python: list[str]) -> None:
    """The twin refuses a server, and has not told it its key."""
    with _serving(certificate) as server:
        _settle(tmp_path, server, ca)
        for _ in range(2):
            (said,) = wake(python, tmp_path, tmp_path / "glass", clock_s=NOW_S)
            assert said["status"] == "refused"
            assert "certificate" in said["error"].lower()
        assert not (tmp_path / "glass").exists()
        assert not any("authorization" in asked.headers for asked in server.asked)


def test_an_unknown_authority_is_refused(tmp_path: Path, ca: trustme.CA, python: list[str]) -> None:
    _refused(tmp_path, trustme.CA().issue_cert("localhost"), ca, python)


def test_another_name_is_refused(tmp_path: Path, ca: trustme.CA, python: list[str]) -> None:
    _refused(tmp_path, ca.issue_cert("elsewhere.example"), ca, python)


def test_a_certificate_that_is_over_is_refused(tmp_path: Path, ca: trustme.CA, python: list[str]) -> None:
    over = ca.issue_cert("localhost", not_after=datetime.now(UTC) - timedelta(days=1))
    _refused(tmp_path, over, ca, python)


def test_a_clock_years_off_is_set_by_the_server_first(tmp_path: Path, ca: trustme.CA) -> None:
    with _serving(ca.issue_cert("localhost")) as server:
        _settle(tmp_path, server, ca)
        (said,) = wake(PYTHONS["micropython"], tmp_path, tmp_path / "glass", clock_s=946684800)
        assert said["status"] == "shown"
        assert said["clock_s"] == 1795586850  # the server's Date, Wed, 25 Nov 2026 06:07:30 GMT
        first, *others = server.asked
        assert (first.method, first.path) == ("HEAD", "/")
        assert "authorization" not in first.headers
        assert all("authorization" in asked.headers for asked in others)


@pytest.mark.parametrize("made_s", [1795586850 + 86400, 1795586850 - 40 * 31556952])
def test_a_date_that_cannot_be_sets_no_clock(tmp_path: Path, ca: trustme.CA, made_s: int) -> None:
    with _serving(ca.issue_cert("localhost")) as server:
        _settle(tmp_path, server, ca, made_s=made_s)
        (said,) = wake(PYTHONS["micropython"], tmp_path, tmp_path / "glass", clock_s=0)
        assert (said["status"], said["clock_s"]) == ("refused", 0)
        assert "clock" in said["error"]
        assert not any("authorization" in asked.headers for asked in server.asked)


def test_a_clock_far_ahead_is_put_back_after_a_failure(tmp_path: Path, ca: trustme.CA) -> None:
    ahead_s = MADE_S + 19 * 31556952
    with _serving(ca.issue_cert("localhost")) as server:
        _settle(tmp_path, server, ca)
        (tmp_path / "state.json").write_text('{"failures": 1}', encoding="ascii")
        (said,) = wake(PYTHONS["micropython"], tmp_path, tmp_path / "glass", clock_s=ahead_s)
        assert (said["status"], said["clock_s"]) == ("shown", 1795586850)
