"""Listening on a port: certificates, and limits that no caller can wear out. Underneath is uvicorn.

Its configuration and protocols are used, not its own loop: that takes over signals, knows one port, and lets a
request take for ever to arrive.
"""

import asyncio
import contextlib
import errno
import math
import socket
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from functools import partial
from importlib.util import find_spec
from types import MappingProxyType

import uvicorn
from uvicorn.server import ServerState

from wallbill.errors import ListenError, Place
from wallbill.server.shell_certificates import Certificate, CertificateKeeper
from wallbill.server.shell_connections import Guard, guarded_protocol, watched
from wallbill.server.shell_devices import App

_BACKLOG = 2048
_LOOK_EVERY_S = 1.0
_CERTIFICATE_LOOKS = 60
_LEAVE_S = 5.0
_LEAVING_LOOK_S = 0.05

_PORT_FAULTS = MappingProxyType(
    {
        errno.EADDRINUSE: (
            "another program listens on this port",
            "Stop it (ss -ltnp names it), or take another port.",
        ),
        errno.EACCES: (
            "this port is for the administrator",
            "Take a port from 1024 up and a proxy in front, or give the service CAP_NET_BIND_SERVICE.",
        ),
        errno.EADDRNOTAVAIL: (
            "this machine has no such address",
            "Give an address of this machine, such as 127.0.0.1, or 0.0.0.0 for all.",
        ),
    }
)


@dataclass(frozen=True, slots=True)
class Listener:
    """Where to listen. ``host``: an address or name of this machine, "" for all; ``port``: 0 for any that is free.

    ``certificate``: for TLS, None for plain HTTP, behind a proxy or at home. ``guard``: what callers may take.
    """

    host: str = "127.0.0.1"
    port: int = 8000
    certificate: Certificate | None = None
    guard: Guard = field(default_factory=Guard)


def loop_factory() -> Callable[[], asyncio.AbstractEventLoop] | None:
    """What makes the event loop: uvloop's where it is installed, None for Python's own. For `asyncio.Runner`."""
    if find_spec("uvloop") is None:
        return None
    import uvloop  # noqa: PLC0415  an extra

    made: Callable[[], asyncio.AbstractEventLoop] = uvloop.new_event_loop
    return made


async def serve(
    app: App, listener: Listener, *, stop: asyncio.Event, listening: Callable[[str], None] | None = None
) -> None:
    """Answers with ``app`` until ``stop`` is set, then lets what has begun be finished, for a few seconds.

    Several may run in one loop. ``listening``: told the address, such as ``https://127.0.0.1:8443``, once it is open. Date
    is the application's to give. Raises `ListenError` where the port or the certificate cannot be used.
    """
    keeper = None if listener.certificate is None else CertificateKeeper(listener.certificate)
    config, state = _config(app, listener.guard), ServerState()
    config.load()
    make = partial(config.http_protocol_class, config=config, server_state=state, app_state={})  # type: ignore[call-arg]  # uvicorn's protocols take these
    with _told(listener):
        server = await asyncio.get_running_loop().create_server(
            make,
            listener.host or None,
            listener.port,
            backlog=_BACKLOG,
            ssl=keeper.context if keeper else None,
            ssl_handshake_timeout=listener.guard.handshake_s if keeper else None,
        )
    try:
        if listening:
            listening(_address(server.sockets[0], tls=keeper is not None))
        await _watch(state, keeper, stop)
    finally:
        server.close()
        await _leave(state)


def _config(app: App, guard: Guard) -> uvicorn.Config:
    return uvicorn.Config(
        app,
        http=guarded_protocol(guard),
        ws="none",
        interface="asgi3",
        lifespan="off",
        log_config=None,
        access_log=False,
        proxy_headers=False,
        server_header=False,
        date_header=False,
        timeout_keep_alive=math.ceil(guard.idle_s),
        h11_max_incomplete_event_size=guard.head_bytes,
    )


async def _watch(state: ServerState, keeper: CertificateKeeper | None, stop: asyncio.Event) -> None:
    """Looks at every connection once a second, and at the certificate once a minute, until ``stop``."""
    loop, looks = asyncio.get_running_loop(), 0
    while not stop.is_set():
        with contextlib.suppress(TimeoutError):
            await asyncio.wait_for(stop.wait(), _LOOK_EVERY_S)
        now_s = loop.time()
        for connection in watched(state.connections):
            if connection.is_late(now_s):
                connection.transport.abort()
        looks += 1
        if keeper is not None and looks % _CERTIFICATE_LOOKS == 0:
            keeper.look()


async def _leave(state: ServerState) -> None:
    """Hangs up on all who have been answered, and on the others as soon as they are; after a while on everybody."""
    for connection in list(state.connections):
        connection.shutdown()
    loop = asyncio.get_running_loop()
    until_s = loop.time() + _LEAVE_S
    while (state.connections or state.tasks) and loop.time() < until_s:  # noqa: ASYNC110  uvicorn tells nobody
        await asyncio.sleep(_LEAVING_LOOK_S)
    for connection in watched(state.connections):
        connection.transport.abort()
    for task in list(state.tasks):
        task.cancel()


def _address(listening: socket.socket, *, tls: bool) -> str:
    host, port = listening.getsockname()[:2]
    return f"{'https' if tls else 'http'}://{f'[{host}]' if ':' in host else host}:{port}"


@contextlib.contextmanager
def _told(listener: Listener) -> Iterator[None]:
    """Says what is wrong with a port in a person's words."""
    where = Place(field=f"{listener.host or '*'}:{listener.port}")
    try:
        yield
    except socket.gaierror as error:
        raise ListenError(
            f"there is no such address as {listener.host!r}",
            where=where,
            mend="Give an address of this machine, such as 127.0.0.1, or 0.0.0.0 for all.",
        ) from error
    except OverflowError as error:
        raise ListenError(
            "there is no such port", where=where, mend="Give a port from 1 to 65535."
        ) from error
    except OSError as error:
        what, mend = _PORT_FAULTS.get(
            error.errno or 0, (f"the port cannot be listened on: {error}", "Try another port.")
        )
        raise ListenError(what, where=where, mend=mend) from error
