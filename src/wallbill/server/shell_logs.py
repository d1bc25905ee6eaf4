"""Structured logs: JSON lines for machines, readable lines for a terminal. Secrets are taken out of every line."""

import contextlib
import json
import logging
from collections.abc import Callable, Iterator
from datetime import UTC, datetime
from typing import TextIO

import structlog
from structlog.typing import EventDict, FilteringBoundLogger, Processor, WrappedLogger

from wallbill.server.scrubbing import scrubbed

ROUTED = (
    "uvicorn",
    "uvicorn.error",
    "uvicorn.access",
    "uvicorn.asgi",
    "procrastinate",
    "alembic",
    "sqlalchemy",
    "asyncio",
    "py.warnings",
)
"""The libraries' loggers that `routed` brings into ours."""


class _Sink:
    """Lines onto a stream; one that is full or closed loses lines, and never stops the server."""

    def __init__(self, stream: TextIO) -> None:
        self._write = structlog.WriteLogger(stream)

    def msg(self, message: str) -> None:
        with contextlib.suppress(OSError, ValueError):
            self._write.msg(message)

    log = debug = info = warn = warning = error = critical = exception = msg


def logger(
    stream: TextIO,
    *,
    as_json: bool | None = None,
    least: int = logging.INFO,
    clock: Callable[[], datetime] | None = None,
) -> FilteringBoundLogger:
    """A logger that writes to ``stream``, with no settings anywhere else.

    ``as_json``: None asks the stream: readable lines on a terminal, else JSON. ``least``: the level below which nothing
    is written. ``clock``: gives now, aware. Bind what belongs to a part: ``log.bind(part="clockwork")``.
    """
    on_terminal = stream.isatty()
    for_machines = not on_terminal if as_json is None else as_json
    now = clock or (lambda: datetime.now(UTC))

    def timed(_logger: WrappedLogger, _method: str, event: EventDict) -> EventDict:
        event["time"] = now().astimezone(UTC).isoformat(timespec="milliseconds")
        return event

    chain: list[Processor] = [
        structlog.processors.add_log_level,
        timed,
        structlog.processors.format_exc_info,
        _scrub,
        _as_json if for_machines else _as_line(colours=on_terminal),
    ]
    bound: FilteringBoundLogger = structlog.wrap_logger(
        _Sink(stream),
        processors=chain,
        wrapper_class=structlog.make_filtering_bound_logger(least),
        context_class=dict,
        cache_logger_on_first_use=True,
    )
    return bound


@contextlib.contextmanager
def routed(log: FilteringBoundLogger, *names: str) -> Iterator[None]:
    """Brings the logs of libraries into ours while it lasts; uvicorn must be started with ``log_config=None``.

    ``names``: of their loggers, else `ROUTED`. Their handlers are set aside and put back at the end. Warnings of
    Python come along.
    """
    handler = _Handler(log)
    kept = []
    logging.captureWarnings(capture=True)
    for name in names or ROUTED:
        theirs = logging.getLogger(name)
        kept.append((theirs, theirs.handlers, theirs.propagate, theirs.level))
        theirs.handlers, theirs.propagate = [handler], False
        theirs.setLevel(theirs.level or logging.INFO)
    try:
        yield
    finally:
        for theirs, handlers, propagate, level in reversed(kept):
            theirs.handlers, theirs.propagate = handlers, propagate
            theirs.setLevel(level)
        logging.captureWarnings(capture=False)


class _Handler(logging.Handler):
    """Takes a record of the standard library's logging and writes it as a line of ours."""

    def __init__(self, log: FilteringBoundLogger) -> None:
        super().__init__()
        self._log = log

    def emit(self, record: logging.LogRecord) -> None:
        try:
            message = record.getMessage()
        except (TypeError, ValueError):
            message = str(record.msg)
        faults = {"exc_info": record.exc_info} if record.exc_info else {}
        with contextlib.suppress(Exception):  # a log line must not stop what it tells of
            self._log.log(record.levelno, message, logger=record.name, **faults)


def _scrub(_logger: WrappedLogger, _method: str, event: EventDict) -> EventDict:
    return {name: scrubbed(value, name=name) for name, value in event.items()}


def _as_json(_logger: WrappedLogger, _method: str, event: EventDict) -> str:
    """One line: time, level and event first, then the rest as it was bound."""
    ordered = {name: event.pop(name) for name in ("time", "level", "event") if name in event}
    return json.dumps({**ordered, **event}, ensure_ascii=False, separators=(",", ":"))


def _as_line(*, colours: bool) -> Processor:
    render = structlog.dev.ConsoleRenderer(
        colors=colours,
        timestamp_key="time",
        pad_event_to=36,
        exception_formatter=structlog.dev.plain_traceback,
    )

    def line(log: WrappedLogger, method: str, event: EventDict) -> str:
        # Only a traceback may run over several lines; an event that does would look like several events.
        told = render(log, method, {**event, "event": str(event.get("event", "")).replace("\n", "\\n")})
        return str(told)

    return line
