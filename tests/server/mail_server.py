"""A real mail receiver on the loopback (RFC 5321 with STARTTLS and AUTH), whose answers a test can change."""

import base64
import contextlib
import socketserver
import ssl
import threading
from collections.abc import Iterator
from dataclasses import dataclass, field
from email import message_from_bytes
from email.message import EmailMessage
from email.policy import SMTP

import trustme


@dataclass
class Post:
    """A running receiver: what came in, and what it answers. ``say``: other answers, by verb or by address."""

    port: int
    user: tuple[str, str] | None = None
    say: dict[str, str] = field(default_factory=dict)
    letters: list[EmailMessage] = field(default_factory=list)
    raw: list[bytes] = field(default_factory=list)
    addressed: list[list[str]] = field(default_factory=list)
    encrypted: list[bool] = field(default_factory=list)
    logged_in: list[str] = field(default_factory=list)


@contextlib.contextmanager
def post(
    *, tls: trustme.CA | None = None, at_once: bool = False, user: tuple[str, str] | None = None
) -> Iterator[Post]:
    """A receiver in a thread. ``tls``: who vouches for ``localhost``; offered by STARTTLS, or ``at_once``."""
    context = None
    if tls is not None:
        context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
        tls.issue_cert("localhost").configure_cert(context)

    class Handler(socketserver.StreamRequestHandler):
        def handle(self) -> None:
            with contextlib.suppress(OSError, ssl.SSLError):
                self.secure = at_once
                if at_once and context is not None:
                    self._wrap(context)
                if "connect" in running.say:
                    self._say(running.say["connect"])
                    return
                self._say("220 localhost at your service")
                self._talk()

        def finish(self) -> None:
            with contextlib.suppress(OSError):
                super().finish()
            self.connection.close()

        def _wrap(self, how: ssl.SSLContext) -> None:
            self.connection = how.wrap_socket(self.request, server_side=True)
            self.rfile, self.wfile = self.connection.makefile("rb"), self.connection.makefile("wb", 0)

        def _say(self, line: str) -> None:
            self.wfile.write(line.encode() + b"\r\n")

        def _talk(self) -> None:
            to: list[str] = []
            while line := self.rfile.readline().decode().strip():
                verb, _, rest = line.partition(" ")
                verb = verb.upper()
                said = running.say.get(verb)
                if said:
                    self._say(said)
                elif verb == "EHLO":
                    more = [] if context is None or self.secure else ["250-STARTTLS"]
                    self._say("\r\n".join(["250-localhost", *more, "250-AUTH PLAIN", "250 8BITMIME"]))
                elif verb == "STARTTLS" and context is not None:
                    self._say("220 go on")
                    self._wrap(context)
                    self.secure = True
                elif verb == "AUTH":
                    told = base64.b64decode(rest.split()[-1]).decode().split("\0")[1:]
                    good = user is not None and tuple(told) == user
                    if good:
                        running.logged_in.append(told[0])
                    self._say("235 welcome" if good else "535 5.7.8 no such user or password")
                elif verb == "RCPT":
                    answer = next((a for name, a in running.say.items() if name in rest), "250 ok")
                    if answer.startswith("2"):
                        to.append(rest)
                    self._say(answer)
                elif verb == "DATA":
                    self._say("354 write")
                    body = b"".join(iter(self.rfile.readline, b".\r\n")).replace(b"\r\n..", b"\r\n.")
                    running.raw.append(body)
                    running.letters.append(message_from_bytes(body, policy=SMTP))
                    running.addressed.append(to)
                    running.encrypted.append(self.secure)
                    to = []
                    self._say(running.say.get("end", "250 taken"))
                elif verb == "QUIT":
                    self._say("221 bye")
                    return
                else:
                    self._say("250 ok")

    class Server(socketserver.ThreadingTCPServer):
        daemon_threads = True
        allow_reuse_address = True

        def handle_error(self, request: object, client_address: object) -> None:
            pass  # a client that does not trust us hangs up in the middle

    server = Server(("127.0.0.1", 0), Handler)
    running = Post(server.server_address[1], user)
    thread = threading.Thread(target=server.serve_forever, kwargs={"poll_interval": 0.02}, daemon=True)
    thread.start()
    try:
        yield running
    finally:
        server.shutdown()
        server.server_close()
        thread.join()
