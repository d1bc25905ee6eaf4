"""``wallbill worker``: a further machine that presses for a wall whose store is on PostgreSQL."""

import signal
import sys
import threading
from pathlib import Path
from types import FrameType

import click

from wallbill.cli.folders import cache_folder
from wallbill.errors import WallbillError


@click.command("worker")
@click.argument("folder", type=click.Path(path_type=Path), metavar="DIR")
@click.option(
    "--presses", type=click.IntRange(1, 64), default=1, show_default=True, metavar="N",
    help="Press so many sheets at once, each in a process of its own.",
)  # fmt: skip
@click.option("--press-only", is_flag=True, help="Leave the gathering of facts to other machines.")
def command(folder: Path, *, presses: int, press_only: bool) -> int:
    """Press for a wall whose server runs elsewhere, with what is in this machine's copy of its folder.

    The wall's store must be on PostgreSQL, which is where the work waits. Any number of workers may run; one that dies
    loses nothing. SIGTERM and Ctrl-C let it finish what it has begun. It writes a log to standard error: lines for people
    on a terminal, else JSON.
    """
    try:
        from wallbill.server.shell_worker import WorkerSettings, run_worker  # noqa: PLC0415  an extra's libraries
    except ImportError as missing:
        raise WallbillError(
            f"a worker needs libraries that are not installed ({missing.name})",
            mend="Install them: pip install 'wallbill[postgresql]'.",
        ) from None
    from wallbill.server.shell_logs import logger, routed  # noqa: PLC0415  see above

    stop = threading.Event()

    def ask_to_stop(_number: int, _frame: FrameType | None) -> None:
        stop.set()

    for number in (signal.SIGTERM, signal.SIGINT):
        signal.signal(number, ask_to_stop)
    log = logger(sys.stderr)
    settings = WorkerSettings(folder, cache_folder(), presses, press_only)
    with routed(log.bind(part="library")):
        run_worker(settings, log.bind(part="worker"), stop=stop)
    return 0
