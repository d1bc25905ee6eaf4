"""Wakes the microcontroller twin in MicroPython or CPython, with a faked board whose panel is a file.

``wakes.py TWIN WISHES``: the folder of the twin's files, and a JSON file that says what is wanted. Each wake prints a
JSON line. It runs on a small heap, so it keeps little.
"""

import gc
import json
import sys

sys.path.insert(0, sys.argv[1])

for _name in (
    "twin_rules",
    "twin_report",
    "shell_wire",
    "shell_flash",
    "shell_fetch",
    "shell_visit",
    "shell_twin",
    "fakes",
):
    __import__(_name)  # the smallest first, as the board's own main.py does
    gc.collect()

import shell_flash
import shell_twin
from fakes import Board, Counted, Steps

TYPE_CHECKING = False
if TYPE_CHECKING:
    from typing import Any


def main(wishes: "dict[str, Any]") -> None:
    """Does what is wanted; prints a line of JSON for each wake."""
    steps = Steps(wishes.get("kill_step", 0))
    flash: Any = shell_flash
    flash.open = steps.opened
    flash.os = Counted(steps)
    board = Board(wishes, steps)
    folder = wishes["folder"]
    picture: Any = shell_flash.FilePicture(folder + "picture", board.driver)
    if wishes.get("straight"):
        picture = shell_flash.StraightPicture(board.driver)
    settings = shell_flash.load_settings(folder)
    twin = shell_twin.Twin(settings, board, keep=shell_flash.FileKeep(folder + "state.json"), picture=picture)
    for _ in range(wishes.get("wakes", 1)):
        before = board.driver.shown
        board.driver.log = ""
        wait_s = twin.wake(wishes.get("woken_by", "timer"))
        board.clock.moment_s += wishes.get("sleeps_s", 0)
        with open(folder + "state.json", "rb") as file:
            state = json.loads(file.read())
        status = "refused" if state["failures"] else "shown" if board.driver.shown > before else "same"
        gc.collect()
        used = gc.mem_alloc() if hasattr(gc, "mem_alloc") else 0
        told = {
            "status": status, "wait_s": wait_s, "error": state["error"], "steps": steps.count, "log": board.driver.log,
            "used_bytes": used, "largest": board.driver.largest, "clock_s": board.clock.moment_s,
        }  # fmt: skip
        print(json.dumps(told))


if __name__ == "__main__":
    with open(sys.argv[2], "rb") as asked:
        main(json.loads(asked.read()))
