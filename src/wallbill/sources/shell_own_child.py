"""The process of an own function: calls it once and tells its value or its fault on the first output.

Started by `wallbill.sources.shell_own` with its request on standard input. What the function prints goes to standard
error, so that it cannot get into the data.
"""

import inspect
import json
import os
import resource
import select
import signal
import sys
import threading
import traceback
from collections.abc import Callable
from datetime import datetime
from importlib import import_module
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from wallbill.sources.own_values import reply_of

_GIVEN = ("now", "today", "place", "options")
_MEND = "Mend the function; `wallbill facts` calls it again."


class MisuseError(Exception):
    """The function cannot be called as it stands: what is wrong, the line of its definition, and the mend."""

    def __init__(self, what: str, line: int | None, mend: str) -> None:
        super().__init__(what)
        self.what = what
        self.line = line
        self.mend = mend


def main() -> None:
    """Reads the request, calls the function, writes the reply, and ends without waiting for the function's threads."""
    answer = os.dup(1)
    os.dup2(2, 1)
    threading.Thread(target=_end_unheard, args=(answer,), daemon=True).start()
    request = json.load(sys.stdin)
    os.dup2(os.open(os.devnull, os.O_RDONLY), 0)
    _limit(request["memory_bytes"], request["seconds"])
    reply = _reply(request)
    sys.stdout.flush()
    with os.fdopen(answer, "wb") as out:
        out.write(reply)
    os._exit(0)


def _end_unheard(answer: int) -> None:
    """Ends the process, and all that the function has started, once nobody is left to hear the answer.

    Whoever called keeps the limits; should it be killed, nobody else would.
    """
    poll = select.poll()
    poll.register(answer, 0)  # that the other end is closed is told without being asked for
    poll.poll()
    os.killpg(0, signal.SIGKILL)


def _limit(memory_bytes: int, seconds: float) -> None:
    """Limits memory and processor time; what is exceeded becomes an error here, or ends the process."""
    resource.setrlimit(resource.RLIMIT_AS, (memory_bytes, memory_bytes))
    cpu = int(seconds) + 2
    resource.setrlimit(resource.RLIMIT_CPU, (cpu, cpu))
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))


def _reply(request: dict[str, Any]) -> bytes:
    folder = Path.cwd() / "facts"
    sys.path.insert(0, str(folder))
    zone = ZoneInfo(request["zone"])
    file = f"facts/{request['module']}.py"
    try:
        function = _function(request, folder)
        value = function(**_arguments(function, request, zone))
        try:
            return reply_of(value, zone=zone)
        except (TypeError, ValueError, RecursionError) as fault:
            mend = "Return text, numbers, dates, lists, dictionaries with text keys, or dataclasses of these."
            return _fault(str(fault), file=file, line=_line(function), mend=mend)
    except MisuseError as fault:
        return _fault(fault.what, file=file, line=fault.line, mend=fault.mend)
    except MemoryError:
        return _fault(
            "it ran out of memory", file=file, line=None, mend="Keep less at once; read files in parts."
        )
    except SyntaxError as fault:
        where = _under(fault.filename, folder) or file
        return _fault(f"it is no Python: {fault.msg}", file=where, line=fault.lineno, mend=_MEND)
    except SystemExit as fault:
        return _fault(f"it ended its process ({fault})", file=file, line=None, mend="Return a value instead.")
    except BaseException as fault:  # noqa: BLE001 - whatever the wall's own code raises is told with its place
        where, line = _place(fault, folder)
        text = "".join(traceback.format_exception_only(fault)).strip().splitlines()[-1]
        return _fault(text, file=where or file, line=line, mend=_MEND)


def _function(request: dict[str, Any], folder: Path) -> Callable[..., Any]:
    module, name = request["module"], request["function"]
    if not (folder / f"{module}.py").is_file():
        raise MisuseError(
            f"there is no file facts/{module}.py", None, f"Write it, with a function {name}() in it."
        )
    found: Any = getattr(import_module(module), name, None)
    if found is None or not callable(found):
        raise MisuseError(
            f"there is no function {name}", None, f"Write def {name}(today): in facts/{module}.py."
        )
    if inspect.iscoroutinefunction(found):
        raise MisuseError(f"{name} is asynchronous", _line(found), "Write def in place of async def.")
    function: Callable[..., Any] = found
    return function


def _arguments(function: Callable[..., Any], request: dict[str, Any], zone: ZoneInfo) -> dict[str, Any]:
    """The keyword arguments that the function asks for by name; `MisuseError` for one that is not given."""
    now = datetime.fromisoformat(request["now"]).astimezone(zone)
    given = {"now": now, "today": now.date(), "place": request["place"], "options": request["options"]}
    wanted = inspect.signature(function).parameters.values()
    if any(parameter.kind is parameter.VAR_KEYWORD for parameter in wanted):
        return given
    for parameter in wanted:
        named = parameter.kind in {parameter.POSITIONAL_OR_KEYWORD, parameter.KEYWORD_ONLY}
        needed = parameter.default is parameter.empty and parameter.kind is not parameter.VAR_POSITIONAL
        if needed and not (named and parameter.name in given):
            raise MisuseError(
                f"it asks for {parameter.name!r}",
                _line(function),
                f"Use the names {', '.join(_GIVEN)}, or give it a default.",
            )
    return {p.name: given[p.name] for p in wanted if p.name in given and p.kind is not p.POSITIONAL_ONLY}


def _line(function: Callable[..., Any]) -> int | None:
    code = getattr(inspect.unwrap(function), "__code__", None)
    return None if code is None else int(code.co_firstlineno)


def _place(fault: BaseException, folder: Path) -> tuple[str, int | None]:
    """The innermost place of the fault inside the wall's folder."""
    frames = [
        (_under(frame.filename, folder), frame.lineno) for frame in traceback.extract_tb(fault.__traceback__)
    ]
    return next(((file, line) for file, line in reversed(frames) if file), ("", None))


def _under(file: str | None, folder: Path) -> str:
    path = Path(file or "")
    return f"facts/{path.relative_to(folder)}" if path.is_relative_to(folder) else ""


def _fault(what: str, *, file: str, line: int | None, mend: str) -> bytes:
    return json.dumps({"fault": {"what": what[:500], "file": file, "line": line, "mend": mend}}).encode()


if __name__ == "__main__":
    main()
