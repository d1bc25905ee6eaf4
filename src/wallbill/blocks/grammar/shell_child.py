"""The process that lays one chart out: a request in JSON on standard input, the SVG or the fault on standard output."""

import json
import os
import resource
import sys
from types import MappingProxyType
from typing import Any

_LONGEST_FAULT = 400
_HOMES = MappingProxyType(
    {"en": "US", "sv": "SE", "da": "DK", "cs": "CZ", "uk": "UA", "ja": "JP", "zh": "CN", "ko": "KR"}
    | {"ca": "ES", "pt": "BR", "he": "IL", "ar": "001", "fa": "IR", "sl": "SI", "et": "EE", "nb": "NO"}
    | {"vi": "VN"}
)  # where a language is at home, if not in the country of the same letters


def main() -> None:
    """Reads the request, limits itself, answers, and ends without waiting for the library's threads."""
    answer = os.dup(1)
    os.dup2(os.open(os.devnull, os.O_WRONLY), 1)  # what the library prints is no answer
    asked = json.load(sys.stdin)
    _limit(asked["memory_bytes"], asked["seconds"])
    reply = json.dumps(_laid_out(asked)).encode()
    with os.fdopen(answer, "wb") as out:
        out.write(reply)
    os._exit(0)


def _limit(memory_bytes: int, seconds: float) -> None:
    """Limits memory and processor time. The engine reserves address space by the gigabyte: what it writes to counts."""
    resource.setrlimit(resource.RLIMIT_DATA, (memory_bytes, memory_bytes))
    cpu = int(seconds) + 2
    resource.setrlimit(resource.RLIMIT_CPU, (cpu, cpu))
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))


def _laid_out(asked: dict[str, Any]) -> dict[str, str]:
    import vl_convert  # noqa: PLC0415 - limited before it is loaded

    try:
        svg = vl_convert.vegalite_to_svg(
            asked["spec"],
            allowed_base_urls=[],
            format_locale=_locale(vl_convert.get_format_locale, asked["language"]),
            time_format_locale=_locale(vl_convert.get_time_format_locale, asked["language"]),
        )
    except ValueError as fault:
        return {"fault": _told(str(fault))}
    return {"svg": svg}


def _locale(find: Any, language: str) -> Any:
    """The library's locale for a language, or for the country where the language is at home; None: its own."""
    main = language.partition("-")[0]
    for name in (language, f"{main}-{_HOMES.get(main, main.upper())}"):
        try:
            return find(name)
        except ValueError:
            continue
    return None


def _told(fault: str) -> str:
    """The line of a fault that says what is wrong, without the places inside the library."""
    lines = [line.strip() for line in fault.splitlines() if not line.lstrip().startswith("at ")]
    said = [line for line in lines if line and not line.endswith("conversion failed:")]
    return " ".join(said)[:_LONGEST_FAULT] or "no reason is given"


if __name__ == "__main__":
    main()
