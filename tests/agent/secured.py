"""The fault server behind TLS."""

import socket
import ssl
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

import trustme

from tests.agent.fault_server import FaultServer


@contextmanager
def serving_securely(server: FaultServer, ca: trustme.CA, **certificate: Any) -> Iterator[str]:
    """The fault server behind TLS; gives its address."""

    context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    ca.issue_cert("localhost", **certificate).configure_cert(context)
    listener = socket.create_server(("127.0.0.1", 0))

    def listen() -> None:
        while True:
            try:
                raw, _ = listener.accept()
            except OSError:
                return
            try:
                server.answer(context.wrap_socket(raw, server_side=True))
            except OSError:
                raw.close()

    thread = threading.Thread(target=listen)
    thread.start()
    try:
        yield f"https://localhost:{listener.getsockname()[1]}"
    finally:
        listener.shutdown(socket.SHUT_RDWR)
        listener.close()
        thread.join()
