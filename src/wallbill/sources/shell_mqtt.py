"""Listening to a broker for a moment: connect, subscribe, take what comes, and go."""

import socket
import ssl
import time
from collections.abc import Callable, Sequence
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from paho.mqtt.client import Client, ConnectFlags, DisconnectFlags, MQTTMessage
from paho.mqtt.enums import CallbackAPIVersion, MQTTProtocolVersion
from paho.mqtt.properties import Properties
from paho.mqtt.reasoncodes import ReasonCode

from wallbill.errors import Place, SourceError
from wallbill.sources.fetching import Limits
from wallbill.sources.mqtt import Broker, broker_of, filters_of, topics_of
from wallbill.sources.mqtt_messages import Message, heard, merged, packed, unpacked_messages
from wallbill.sources.mqtt_topics import is_open, opened
from wallbill.sources.spec import SourceSpec

_TURN_S = 0.25
_MESSAGES_MOST = 20_000
_BAD_LOGIN = frozenset({"Bad user name or password", "Not authorized"})


def ask_broker(
    spec: SourceSpec, before: bytes | None, *, folder: Path, limits: Limits, clock: Callable[[], datetime]
) -> bytes:
    """What a source's broker says, over what is kept of it (``before``), as a payload for `wallbill.sources.mqtt.parse`.

    ``folder``: the wall's, for its certificates. Ends early when every topic has spoken and none is left open. Raises
    `SourceError` that names the host: it cannot be reached, refuses us or a topic, or says nothing in time.
    """
    broker, wanted = broker_of(spec), topics_of(spec)
    filters = filters_of(wanted)
    known = () if before is None else unpacked_messages(before, spec.name)
    new = _Listening(broker, filters, source=spec.name, clock=clock).run(
        total_s=limits.total_s, tls=_tls(broker, folder, spec) if broker.tls else None
    )
    return packed(merged(known, new, filters=filters, at=clock().astimezone(UTC)))


class _Trust(ssl.SSLContext):
    """Certificates and host names are always checked. Keeps hold of what it wraps, for paho forgets it when that fails."""

    _wrapped: list[ssl.SSLSocket]

    def wrap_socket(self, sock: socket.socket, *args: Any, **options: Any) -> ssl.SSLSocket:
        wrapped = super().wrap_socket(sock, *args, **options)
        self._wrapped = [*getattr(self, "_wrapped", []), wrapped]
        return wrapped

    def close(self) -> None:
        for wrapped in getattr(self, "_wrapped", []):
            wrapped.close()


def _tls(broker: Broker, folder: Path, spec: SourceSpec) -> _Trust:
    """Whom to trust: the certificates of the file ``ca``, or those that this machine trusts."""
    trust = _Trust(ssl.PROTOCOL_TLS_CLIENT)
    if not broker.ca:
        trust.load_default_certs()
        return trust
    at = Place(spec.where.file, spec.where.line, "ca")
    path = (folder / broker.ca).resolve()
    if not path.is_relative_to(folder.resolve()):
        raise SourceError(
            f"{broker.ca!r} lies outside the wall folder", where=at, mend="Copy it into the wall folder."
        )
    try:
        trust.load_verify_locations(cafile=str(path))
    except (OSError, ValueError):
        raise SourceError(
            f"{broker.ca!r} holds no certificates",
            where=at,
            mend="Give a file in PEM format, inside the wall folder.",
        ) from None
    return trust


class _Listening:
    """One visit to a broker."""

    def __init__(
        self, broker: Broker, filters: Sequence[str], *, source: str, clock: Callable[[], datetime]
    ) -> None:
        self._broker = broker
        self._filters = filters
        self._where = Place(source, field=broker.host)
        self._clock = clock
        self._messages: list[Message] = []
        self._connected: ReasonCode | None = None
        self._granted: list[ReasonCode] | None = None
        self._silent = set(filters)
        self._lost = False

    def run(self, *, total_s: float, tls: _Trust | None) -> Sequence[Message]:
        """The messages in order of coming."""
        ends_at_s = time.monotonic() + total_s
        client = self._client(tls)
        client.connect_timeout = max(total_s / 2, 0.1)  # once for the connection, once for the TLS handshake
        try:
            client.connect(self._broker.host, self._broker.port)
            self._until(client, lambda: self._connected is not None, ends_at_s=ends_at_s)
            self._check_connected()
            client.subscribe([(one, self._broker.qos) for one in self._filters])
            self._until(client, lambda: self._granted is not None, ends_at_s=ends_at_s)
            self._check_granted()
            self._listen(client, ends_at_s=ends_at_s)
            client.disconnect()
        except TimeoutError:
            raise self._late(total_s) from None
        except (OSError, ValueError) as fault:
            raise self._unreachable(fault) from None
        finally:
            _close(client)
            if tls is not None:
                tls.close()
        return tuple(self._messages)

    def _client(self, tls: _Trust | None) -> Client:
        version = MQTTProtocolVersion.MQTTv5 if self._broker.protocol == "5" else MQTTProtocolVersion.MQTTv311
        client = Client(
            CallbackAPIVersion.VERSION2,
            client_id=self._broker.client_id,
            protocol=version,
            reconnect_on_failure=False,
        )
        client.on_connect = self._on_connect
        client.on_disconnect = self._on_disconnect
        client.on_subscribe = self._on_subscribe
        client.on_message = self._on_message
        if self._broker.user:
            client.username_pw_set(self._broker.user, self._broker.password or None)
        if tls is not None:
            client.tls_set_context(tls)
        return client

    def _until(self, client: Client, done: Callable[[], bool], *, ends_at_s: float) -> None:
        """Turns the connection over until ``done``; raises TimeoutError, or OSError when the connection is lost."""
        while not done():
            left_s = ends_at_s - time.monotonic()
            if left_s <= 0:
                raise TimeoutError
            code = client.loop(timeout=min(left_s, _TURN_S))
            if (code or self._lost) and not done():
                raise ConnectionResetError

    def _listen(self, client: Client, *, ends_at_s: float) -> None:
        """Takes what comes until the time to listen is over, or every topic has spoken and none is left open."""
        until_s = min(ends_at_s, time.monotonic() + self._broker.listen_s)
        waits = any(is_open(one) for one in self._filters)
        while (waits or self._silent) and len(self._messages) < _MESSAGES_MOST:
            left_s = until_s - time.monotonic()
            if left_s <= 0:
                return
            if client.loop(timeout=min(left_s, _TURN_S)) or self._lost:
                raise ConnectionResetError

    def _on_connect(
        self,
        client: Client,
        userdata: Any,
        flags: ConnectFlags,
        code: ReasonCode,
        properties: Properties | None,
    ) -> None:
        self._connected = code

    def _on_disconnect(
        self,
        client: Client,
        userdata: Any,
        flags: DisconnectFlags,
        code: ReasonCode,
        properties: Properties | None,
    ) -> None:
        self._lost = True

    def _on_subscribe(
        self, client: Client, userdata: Any, mid: int, codes: list[ReasonCode], properties: Properties | None
    ) -> None:
        self._granted = list(codes)

    def _on_message(self, client: Client, userdata: Any, message: MQTTMessage) -> None:
        at = self._clock()
        self._messages.append(heard(message.topic, bytes(message.payload), retained=message.retain, at=at))
        self._silent -= {one for one in self._silent if opened(one, message.topic) is not None}

    def _check_connected(self) -> None:
        code = self._connected
        if code is None or not code.is_failure:
            return
        login = str(code) in _BAD_LOGIN
        raise SourceError(
            "it refuses the user and password"
            if login
            else f"it refuses the connection: {str(code).lower()}",
            where=self._where,
            mend="Check user and password of the source."
            if login
            else "Check protocol and client_id of the source.",
        )

    def _check_granted(self) -> None:
        refused = [
            one for one, code in zip(self._filters, self._granted or (), strict=False) if code.is_failure
        ]
        if refused:
            raise SourceError(
                f"it does not let us listen to {', '.join(refused[:5])}",
                where=self._where,
                mend="Let this user read the topics, in the broker's access list.",
            )

    def _late(self, total_s: float) -> SourceError:
        return SourceError(
            f"no answer within {total_s:g} s",
            where=self._where,
            mend="Nothing, if it happens once: it is asked again later. Else look at the broker and the port.",
        )

    def _unreachable(self, fault: Exception) -> SourceError:
        if isinstance(fault, ssl.SSLCertVerificationError):
            return SourceError(
                "its certificate cannot be trusted",
                where=self._where,
                mend="Give the certificates to trust with ca, and the host by the name that its certificate has.",
            )
        if isinstance(fault, ssl.SSLError):
            return SourceError(
                "it does not speak TLS there", where=self._where, mend="Check tls and port of the source."
            )
        if isinstance(fault, ConnectionResetError):
            return SourceError(
                "it broke the connection off",
                where=self._where,
                mend="Check that a broker listens at this port, and whether it wants tls.",
            )
        return SourceError(
            "cannot be reached", where=self._where, mend="Check the broker's host and port, and the network."
        )


def _close(client: Client) -> None:
    """Closes the connection, in whatever state it is."""
    connection = client.socket()
    if connection is not None:
        connection.close()
