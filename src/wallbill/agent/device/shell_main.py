"""The agent's command line: finds its settings and its key, and wakes once or for ever.

Exit status: 0 good; 1 the wake failed, the last good picture stays up; 2 called wrongly; 75 another copy runs; 78 the settings
are wrong (the numbers of sysexits.h).
"""

from __future__ import annotations

import os
import stat
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import NamedTuple

from wallbill.agent.device import shell_machine
from wallbill.agent.device.choosing import FULL
from wallbill.agent.device.marking import darkest_lightest, pattern
from wallbill.agent.device.plates import turned
from wallbill.agent.device.reading import SettingsError
from wallbill.agent.device.settings import Settings, merged, parsed, read_settings
from wallbill.agent.device.shell_glass import Glass, GlassError, Job
from wallbill.agent.device.shell_keeping import BusyError, Keep
from wallbill.agent.device.shell_line import Line, open_line
from wallbill.agent.device.shell_waiting import Waiting
from wallbill.agent.device.shell_wake import AGENT, Outcome, Tools, Wake, due_s
from wallbill.agent.device.waking import back_off_s

GOOD, FAILED, USAGE, BUSY, CONFIG = 0, 1, 2, 75, 78
_EARLY_S, _EARLY = (
    360,
    0.15,
)  # what the wait was spread by, and a minute: a timer of the same length is never early
_USAGE = """usage: {name} [run | once [--now] | pattern | state | check] [--settings FILE] [--state DIR]

  run      wakes for ever, sleeping as the server says (this is what it does unless told otherwise)
  once     wakes once, if it is due; for a timer or cron.  --now: even if it is not
  pattern  shows a test pattern on the panel, to see whether it is fed rightly
  state    prints what the agent remembers
  check    reads the settings, and tells what is wrong with them
"""


class Place(NamedTuple):
    """Where the agent is. ``file``: its own. ``packed``: the settings in it. ``own``: what starts it again."""

    file: Path
    packed: bytes
    own: tuple[str, ...]


class Called(NamedTuple):
    """What it was called for."""

    command: str = "run"
    is_now: bool = False
    settings: str = ""
    state: str = ""


def main(arguments: Sequence[str], place: Place) -> int:
    """Does what it is called for; gives the exit status."""
    if arguments[:1] == ["drive"] and len(arguments) == 2:
        from wallbill.agent.device.shell_drive import drive  # noqa: PLC0415  runs in a process of its own

        return drive(arguments[1], place.file.parent)
    if arguments[:1] == ["window"]:
        from wallbill.agent.device.shell_window import window  # noqa: PLC0415  Tk is large

        return window()
    called = _called(arguments)
    if called is None:
        _tell(_USAGE.format(name=place.file.name).rstrip())
        return USAGE
    try:
        settings = _settings(called, place)
        if called.command == "check":
            return _say("the settings are good")
        folder = _folder(called, settings)
        keep = Keep(folder)
    except SettingsError as error:
        _tell(str(error))
        return CONFIG
    except BusyError as error:
        _tell(f"another copy of the agent runs on {error}")
        return BUSY
    except OSError as error:
        _tell(f"the folder of state cannot be used: {error}")
        return CONFIG
    try:
        return _does(called, settings, keep, place)
    finally:
        keep.close()


def _called(arguments: Sequence[str]) -> Called | None:
    """What the words of the command line say; None where they cannot be understood."""
    found = Called()
    words = list(arguments)
    if words and not words[0].startswith("-"):
        found = found._replace(command=words.pop(0))
    while words:
        word = words.pop(0)
        if word == "--now" and found.command == "once":
            found = found._replace(is_now=True)
        elif word in ("--settings", "--state") and words:
            found = (
                found._replace(settings=words.pop(0))
                if word == "--settings"
                else found._replace(state=words.pop(0))
            )
        else:
            return None
    return found if found.command in ("run", "once", "pattern", "state", "check") else None


def _settings(called: Called, place: Place) -> Settings:
    """The settings in the agent's file, with those of the file beside it laid over them."""
    values = parsed(place.packed, file=str(place.file)) if place.packed else {}
    beside = Path(called.settings) if called.settings else place.file.with_suffix(".json")
    where = str(place.file)
    if called.settings or beside.exists():
        try:
            values = merged(values, parsed(beside.read_bytes(), file=str(beside)))
        except OSError as error:
            raise SettingsError(
                f"{beside}: cannot be read: {error.strerror}\n  mend: see to its path and its rights"
            ) from error
        where = str(beside)
    return read_settings(values, file=where)


def _folder(called: Called, settings: Settings) -> Path:
    """The folder of state: as told, the service manager's, or the user's own (XDG Base Directory Specification)."""
    told = called.state or os.environ.get("STATE_DIRECTORY", "").split(":")[0]
    if told:
        return Path(told)
    base = os.environ.get("XDG_STATE_HOME") or str(Path.home() / ".local" / "state")
    return Path(base) / "wallbill-agent" / settings.display


def _key(settings: Settings, place: Place) -> str:
    """The display's key: a credential of the service manager, the environment, or a file that only its owner can read.

    Raises `SettingsError`.
    """
    folder = os.environ.get("CREDENTIALS_DIRECTORY", "")
    credential = Path(folder) / "wallbill.key"
    path = Path(settings.key_file) if settings.key_file else place.file.with_suffix(".key")
    try:
        if folder and credential.exists():
            return _clean(credential)
        if os.environ.get("WALLBILL_KEY"):
            return os.environ["WALLBILL_KEY"].strip()
        if not settings.key_file and not path.exists():
            return settings.key
        if stat.S_IMODE(path.stat().st_mode) & 0o077:
            raise SettingsError(f"{path}: others can read the key\n  mend: chmod 600 {path}")
        return _clean(path)
    except OSError as error:
        raise SettingsError(
            f"{path}: the key cannot be read: {error.strerror}\n  mend: see to its path and its owner"
        ) from error


def _clean(path: Path) -> str:
    """A key out of a file. Raises `SettingsError` for what could not stand in a header."""
    text = path.read_bytes()[:4096].decode("ascii", "replace").strip()
    if not text or any(not "!" <= sign <= "~" for sign in text):
        raise SettingsError(f"{path}: that is no key\n  mend: write the key alone into it, in one line")
    return text


def _does(called: Called, settings: Settings, keep: Keep, place: Place) -> int:
    """What it is called for, in a folder that it holds."""
    glass = Glass(settings, keep.folder, place.own)
    if called.command == "state":
        return _say("\n".join(f"{name}: {value}" for name, value in keep.memory()._asdict().items()))
    if called.command == "pattern":
        return _pattern(settings, keep, glass)
    try:
        tools = Tools(settings, keep, glass, _key(settings, place))
        if called.command == "once":
            return _once(tools, is_now=called.is_now)
        line = open_line(settings.button) if settings.button else None
    except SettingsError as error:
        _tell(str(error))
        return CONFIG
    except OSError as error:
        _tell(f"the button cannot be used: {error}")
        return CONFIG
    return _run(tools, line)


def _pattern(settings: Settings, keep: Keep, glass: Glass) -> int:
    """Shows the test pattern; the next wake will fetch the picture anew."""
    panel = settings.panel
    dark, light = darkest_lightest(panel.colours)
    across, down = panel.width_px, panel.height_px
    if panel.turned_deg % 180:
        across, down = down, across
    page = pattern(across, down, inks=len(panel.inks), dark=dark, light=light)
    picture = turned(page, -panel.turned_deg % 360)
    try:
        keep.remember(keep.memory()._replace(tag="", shown=""))
        glass.show(Job(picture, FULL))
    except (GlassError, OSError) as error:
        _tell(str(error))
        return FAILED
    return _say(
        f"shown: a frame all round, a square in the upper left corner, bars of {', '.join(panel.ink_names)}"
    )


def _once(tools: Tools, *, is_now: bool) -> int:
    """One wake, unless it is too early: a little early is early enough, but not where the server or the panel forbids it."""
    memory = tools.keep.memory()
    left_s = due_s(memory, memory.now(shell_machine.boot(), shell_machine.up_s()))
    early_s = 0.0 if memory.must_wait else min(_EARLY_S, memory.wait_s * _EARLY)
    if left_s > early_s and not is_now:
        return _say(f"early: due in {int(left_s)} s")
    wake = Wake(tools, woken_by="timer")
    rest_s = wake.sure_rest_s()
    if rest_s > 0:
        return _say(f"early: the panel rests for {int(rest_s) + 1} s")
    outcome = wake.run()
    _told(outcome)
    return FAILED if outcome.status == "failed" else GOOD


def _run(tools: Tools, line: Line | None) -> int:
    """Wakes for ever, until it is told to end. A wake that was begun is finished first.

    A press is answered at once, unless the panel, or the last press, is too near.
    """
    button = tools.settings.button
    waiting = Waiting(line, button)
    memory = tools.keep.memory()
    now_s = shell_machine.up_s()
    left_s = due_s(memory, memory.now(shell_machine.boot(), now_s)) if memory.must_wait else 0.0
    next_s, asked, free_s, crashes = now_s + max(0.0, left_s), "power", 0.0, 0
    while True:
        heard = waiting.until(next_s)
        if heard == "end":
            return GOOD
        if heard != "timer":
            now_s, asked = shell_machine.up_s(), heard
            next_s = max(now_s + Wake(tools, woken_by="button").sure_rest_s(), free_s)
            if next_s > now_s:
                continue
        by_button = asked in ("refresh", "next")
        wake = Wake(tools, woken_by="button" if by_button else asked, wants_next=asked == "next")
        outcome = _safely(wake, crashes)
        crashes = crashes + 1 if outcome.status == "crashed" else 0
        _told(outcome)
        now_s = shell_machine.up_s()
        free_s = now_s + button.least_s if button and by_button else free_s
        next_s, asked = now_s + outcome.wait_s, "timer"


def _safely(wake: Wake, crashes: int) -> Outcome:
    """A wake that cannot end the agent, even by a fault of its own: nobody is there to start it again."""
    try:
        return wake.run()
    except Exception as error:  # noqa: BLE001  the last net; it is told in the journal
        sys.excepthook(type(error), error, error.__traceback__)
        return Outcome("crashed", back_off_s(crashes + 1), f"{type(error).__name__}: {error}")


def _told(outcome: Outcome) -> None:
    """One line for the journal."""
    what = f"{outcome.status}: {outcome.told}" if outcome.told else outcome.status
    _say(f"{what}; next in {outcome.wait_s} s")


def _say(text: str) -> int:
    sys.stdout.write(f"{text}\n")
    sys.stdout.flush()
    return GOOD


def _tell(text: str) -> None:
    sys.stderr.write(f"{AGENT}: {text}\n")
    sys.stderr.flush()
