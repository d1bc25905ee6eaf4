"""A real broker (mosquitto, from Debian) on the loopback, with a configuration of its own."""

import contextlib
import os
import shutil
import socket
import subprocess
import time
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import trustme
from paho.mqtt import publish
from paho.mqtt.enums import MQTTProtocolVersion


@dataclass(frozen=True)
class RunningBroker:
    """A broker that runs: its port, its folder and who may speak to it."""

    port: int
    folder: Path
    process: subprocess.Popen[bytes]
    login: tuple[str, str] | None = None
    authority: Path | None = None

    def publish(self, topic: str, payload: str | bytes | None, *, retain: bool = False) -> None:
        """Publishes one message and waits until the broker has it."""
        tls: Any = {"ca_certs": str(self.authority)} if self.authority else None
        auth: Any = {"username": self.login[0], "password": self.login[1]} if self.login else None
        publish.single(
            topic,
            payload,
            qos=1,
            retain=retain,
            hostname="localhost" if tls else "127.0.0.1",
            port=self.port,
            tls=tls,
            auth=auth,
            protocol=MQTTProtocolVersion.MQTTv311,
        )


def free_port() -> int:
    """A port of the loopback that nothing listens to just now."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


def tool(name: str) -> str:
    """A program of mosquitto; Debian puts the broker where only root's path leads."""
    found = shutil.which(name, path=f"{os.environ.get('PATH', '')}:/usr/sbin:/usr/local/sbin")
    assert found, f"{name} is not installed: run scripts/system_packages.sh"
    return found


@contextlib.contextmanager
def broker(
    folder: Path, *, login: tuple[str, str] | None = None, tls: bool = False, rules: Sequence[str] = ()
) -> Iterator[RunningBroker]:
    """A broker in a process. ``login``: the one user that it lets in. ``rules``: lines of its access list."""
    folder.mkdir(parents=True, exist_ok=True)
    port = free_port()
    lines = [f"listener {port} 127.0.0.1", "persistence false", "max_keepalive 600"]
    if os.geteuid() == 0:
        lines.append("user root")  # else it steps down to a user who may not read the test's folder
    lines.append(f"allow_anonymous {'false' if login else 'true'}")
    if login:
        subprocess.run([tool("mosquitto_passwd"), "-b", "-c", str(folder / "users"), *login], check=True)
        lines.append(f"password_file {folder / 'users'}")
    if rules:
        (folder / "rules").write_text("\n".join(rules) + "\n", encoding="utf-8")
        (folder / "rules").chmod(0o600)
        lines.append(f"acl_file {folder / 'rules'}")
    authority = None
    if tls:
        made = trustme.CA()
        made.cert_pem.write_to_path(authority := folder / "authority.pem")
        server = made.issue_cert("localhost")
        server.private_key_pem.write_to_path(folder / "key.pem")
        server.cert_chain_pems[0].write_to_path(folder / "server.pem")
        lines += [f"certfile {folder / 'server.pem'}", f"keyfile {folder / 'key.pem'}"]
    (folder / "broker.conf").write_text("\n".join(lines) + "\n", encoding="utf-8")
    with (folder / "log").open("wb") as log:
        process = subprocess.Popen(
            [tool("mosquitto"), "-c", str(folder / "broker.conf")], stdout=log, stderr=log
        )
    try:
        _await(process, port, folder / "log")
        yield RunningBroker(port, folder, process, login, authority)
    finally:
        process.terminate()
        process.wait(10)


def _await(process: subprocess.Popen[bytes], port: int, log: Path) -> None:
    for _ in range(500):
        with contextlib.suppress(OSError), socket.create_connection(("127.0.0.1", port), timeout=1):
            return
        assert process.poll() is None, log.read_text(encoding="utf-8")
        time.sleep(0.01)
    raise AssertionError(f"mosquitto does not listen: {log.read_text(encoding='utf-8')}")
