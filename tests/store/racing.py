"""What runs in processes beside that of the tests."""

import multiprocessing
import subprocess
import sys
import threading
from pathlib import Path
from typing import Any

from tests.store import deeds
from wallbill.errors import StoreError
from wallbill.store.shell import open_database, open_store
from wallbill.store.shell_migrating import Migrations, edition_of

ROOT = Path(__file__).resolve().parents[2]


def beside() -> Any:
    """Where processes come from that run beside the tests: with what they need loaded, and with no thread of ours."""
    context = multiprocessing.get_context("forkserver")
    context.set_forkserver_preload(["tests.store.racing"])
    return context


def python(code: str, *arguments: str) -> subprocess.CompletedProcess[str]:
    """Runs a program in a new interpreter, from the root of the project."""
    return subprocess.run(
        [sys.executable, "-c", code, *arguments],
        cwd=ROOT, capture_output=True, text=True, check=False, timeout=120,
    )  # fmt: skip


def open_at_once(url: str, folder: str, editions: tuple[str, ...], barrier: Any, said: Any) -> None:
    """Opens a store together with others, and says of which edition it was then."""
    barrier.wait(60)
    try:
        database = open_database(url, migrations=Migrations(Path(folder), editions))
    except StoreError as fault:
        said.put(str(fault))
        return
    said.put(database.read(edition_of))
    database.close()


def put_up_at_once(url: str, me: int, threads: int, numbers: int, barrier: Any, said: Any) -> None:
    """Puts editions up on one display with several threads, and says which numbers each of them won."""
    store = open_store(url, patience_s=30)
    won: list[tuple[int, int]] = []

    def run(mine: int) -> None:
        barrier.wait(60)
        for number in range(1, numbers + 1):
            picture = mine * 1000 + number
            if store.put_up(deeds.edition("hall", number, picture), deeds.impression(picture, size=400)):
                won.append((number, picture))

    running = [threading.Thread(target=run, args=(me * 100 + thread,)) for thread in range(threads)]
    for thread in running:
        thread.start()
    for thread in running:
        thread.join()
    store.close()
    said.put(won)
