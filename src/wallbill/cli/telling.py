"""Faults in words: what is printed for each kind of failure, safe for a terminal."""

import traceback
from unicodedata import category

import click

from wallbill.errors import FaultList, WallbillError


def told(error: Exception) -> str:
    """A failure as it is printed: what is wrong and, on the next line, how to mend it."""
    match error:
        case WallbillError():
            return printable(_in_turn(error))
        case OSError():
            return printable(_refused(error))
    return printable(_own_failure(error))


def is_traced() -> bool:
    """Whether the whole trace of a failure of our own was asked for: ``wallbill --trace COMMAND``."""
    return bool(click.get_current_context().find_root().params.get("trace"))


def printable(text: str) -> str:
    """``text`` with control characters written out, line ends kept, and every kind of space as a plain one.

    Texts come from calendars and payloads of other people; a terminal must not take orders from them.
    """
    return "".join(_printable(letter) for letter in text)


def _printable(letter: str) -> str:
    if letter.isprintable() or letter == "\n":
        return letter
    return " " if category(letter) == "Zs" else letter.encode("unicode_escape").decode()


def on_one_line(text: str) -> str:
    """As `printable`, with line ends written out too."""
    return printable(text).replace("\n", "\\n")


def _in_turn(error: WallbillError) -> str:
    """``file:line field: what`` and the mend below it; each fault of a list in turn."""
    if not isinstance(error, FaultList):
        return str(error)
    text = "\n".join(_in_turn(fault) for fault in error.faults)
    return f"{text}\n{len(error.faults)} faults" if len(error.faults) > 1 else text


def _refused(error: OSError) -> str:
    """What the system refused: a full disk, a file that may not be written, a machine that does not answer."""
    head = f"{error.filename}: " if error.filename else ""
    return (
        f"{head}{(error.strerror or str(error))}\n  mend: Make room or give leave there, then run it again."
    )


def _own_failure(error: Exception) -> str:
    """What is said when the fault is Wallbill's own: one line and what to do."""
    frames = traceback.extract_tb(error.__traceback__)
    at = f" ({frames[-1].filename.rpartition('wallbill/')[2]}:{frames[-1].lineno})" if frames else ""
    said = " ".join(str(error).split())
    return (
        f"this is a fault of Wallbill's own, not of yours: {type(error).__name__}: {said}{at}\n"
        "  mend: Run it again as `wallbill --trace …` and report what that prints to Wallbill's keepers; nothing is lost."
    )
