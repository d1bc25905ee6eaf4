"""What the board runs when it wakes: one wake of the twin, then deep sleep. An example to be changed.

Hold the button while it starts, and it stays awake with its prompt, so that files can be changed.
"""

import gc

# Each file is compiled as it is imported, which takes several times its size for a moment: the smallest come first, and
# what is left over is given back in between. Files made with ``mpy-cross`` need none of this.
for _name in (
    "twin_rules",
    "twin_report",
    "shell_wire",
    "shell_flash",
    "shell_fetch",
    "shell_visit",
    "shell_twin",
):
    __import__(_name)
    gc.collect()

from board import HutBoard
from shell_flash import FileKeep, FilePicture, load_settings
from shell_twin import Twin

AFTER_A_FAULT_S = 3600


def run() -> None:
    """One wake. Whatever goes wrong, the board sleeps and tries again."""
    board = HutBoard()
    if board.is_held():
        return
    board.end_after_minutes(6)
    wait_s = AFTER_A_FAULT_S
    try:
        # `StraightPicture(board.driver)` instead of `FilePicture` wears no flash, but has nothing to show again.
        picture = FilePicture("picture", board.driver)
        twin = Twin(load_settings(""), board, keep=FileKeep("state.json"), picture=picture)
        wait_s = twin.wake(board.woken_by())
    except Exception as error:  # noqa: BLE001  nobody is there to mend it before the next wake
        board.tell(repr(error))
    board.sleep(wait_s)


run()
