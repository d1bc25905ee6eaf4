"""A real web server on the loopback, with pages that a test writes."""

import contextlib
import socket
import ssl
import threading
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from typing import Any

import trustme

Page = Callable[[BaseHTTPRequestHandler], None]


def plain(body: bytes, status: int = 200, **headers: Any) -> Page:
    """A page with a body; ``content_type="text/html"`` gives the header of that name."""

    def page(request: BaseHTTPRequestHandler) -> None:
        request.send_response_only(status)  # with no Date: the tests have their own clock
        for name, value in {"content_length": str(len(body)), **headers}.items():
            request.send_header(name.replace("_", "-"), value)
        request.end_headers()
        request.wfile.write(body)

    return page


def tagged(body: bytes, etag: str, **headers: Any) -> Page:
    """A page with an ETag, which answers 304 to those who have it."""

    def page(request: BaseHTTPRequestHandler) -> None:
        if request.headers.get("If-None-Match") == etag:
            request.send_response_only(304)
            request.send_header("ETag", etag)
            for name, value in headers.items():
                request.send_header(name.replace("_", "-"), value)
            request.end_headers()
        else:
            plain(body, etag=etag, **headers)(request)

    return page


def slow(body: bytes, seconds: float) -> Page:
    """A page that takes its time before it says anything."""

    def page(request: BaseHTTPRequestHandler) -> None:
        time.sleep(seconds)
        plain(body)(request)

    return page


def dripping(body: bytes, pause_s: float) -> Page:
    """A page that comes a byte at a time."""

    def page(request: BaseHTTPRequestHandler) -> None:
        request.send_response(200)
        request.send_header("Content-Length", str(len(body)))
        request.end_headers()
        for byte in body:
            request.wfile.write(bytes([byte]))
            request.wfile.flush()
            time.sleep(pause_s)

    return page


@dataclass
class Web:
    """A running server: its pages by path, what was asked for, and the most requests that were open at once."""

    port: int
    scheme: str = "http"
    pages: dict[str, Page] = field(default_factory=dict)
    asked: list[tuple[str, dict[str, str]]] = field(default_factory=list)
    open_now: int = 0
    open_most: int = 0

    def url(self, path: str, host: str = "localhost") -> str:
        return f"{self.scheme}://{host}:{self.port}{path}"

    @property
    def paths(self) -> list[str]:
        return [path for path, _ in self.asked]


@contextlib.contextmanager
def web(*, tls: trustme.CA | None = None, address: str = "127.0.0.1") -> Iterator[Web]:
    """A server in a thread, on a free port of the loopback. ``tls``: who vouches that it is ``localhost``."""
    lock = threading.Lock()

    class Handler(BaseHTTPRequestHandler):
        protocol_version = "HTTP/1.1"

        def do_GET(self) -> None:
            with lock:
                running.asked.append(
                    (self.path, {name.lower(): value for name, value in self.headers.items()})
                )
                running.open_now += 1
                running.open_most = max(running.open_most, running.open_now)
            try:
                page = running.pages.get(self.path.partition("?")[0], plain(b"", 404))
                with contextlib.suppress(BrokenPipeError, ConnectionResetError):
                    page(self)
            finally:
                with lock:
                    running.open_now -= 1
                self.close_connection = True

        do_PROPFIND = do_REPORT = do_GET  # noqa: N815  the names that the library looks for

        def log_message(self, format: str, *args: object) -> None:  # noqa: A002  the library's own name
            pass

    class Server(ThreadingHTTPServer):
        daemon_threads = True

        def handle_error(self, request: object, client_address: object) -> None:
            pass  # a client that hangs up is what several tests are about

    server = Server((address, 0), Handler)
    if tls is not None:
        context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
        tls.issue_cert("localhost").configure_cert(context)
        server.socket = context.wrap_socket(server.socket, server_side=True)
    running = Web(server.server_address[1], "http" if tls is None else "https")
    thread = threading.Thread(target=server.serve_forever, kwargs={"poll_interval": 0.02}, daemon=True)
    thread.start()
    try:
        yield running
    finally:
        server.shutdown()
        server.server_close()
        thread.join()


@contextlib.contextmanager
def raw_server(reply: bytes) -> Iterator[int]:
    """A server that says the same to everyone, whatever that is; gives its port."""
    with socket.create_server(("127.0.0.1", 0)) as listener:

        def serve() -> None:
            with contextlib.suppress(OSError):
                while True:
                    connection, _ = listener.accept()
                    with connection:
                        connection.recv(65536)
                        connection.sendall(reply)

        threading.Thread(target=serve, daemon=True).start()
        yield listener.getsockname()[1]
