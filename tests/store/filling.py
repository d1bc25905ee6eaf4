"""A program that fills a disk: ``python -m tests.store.filling FOLDER MODE``, with a store in FOLDER.

Does deeds until the disk is full, looks whether the store is what it was before the last one, makes room, and goes on.
Prints what happened as JSON. ``limit``: the process may write no file beyond a size. ``disk``: FOLDER is a small disk of
its own, with a file ``ballast`` on it that can be taken away.
"""

import json
import resource
import sys
from pathlib import Path

from tests.store import deeds
from tests.store.memory import MemoryStore
from tests.store.reading import everything
from wallbill.errors import StoreError
from wallbill.store.shell import open_store, store_url

_ROOM = 1_500_000
_MOST = 2000


def main(folder: Path, mode: str) -> None:
    """Fills, looks, makes room, goes on."""
    store, plain = open_store(store_url(folder, None)), MemoryStore()
    for each in (store, plain):
        deeds.begin(each)
    if mode == "limit":
        resource.setrlimit(resource.RLIMIT_FSIZE, (_ROOM, resource.RLIM_INFINITY))
    told, step = "", 0
    while not told and step < _MOST:
        try:
            deeds.do(store, step)
        except StoreError as fault:
            told = str(fault)
        else:
            deeds.do(plain, step)
            step += 1
    as_before = everything(store) == everything(plain)
    if mode == "limit":
        resource.setrlimit(resource.RLIMIT_FSIZE, (resource.RLIM_INFINITY, resource.RLIM_INFINITY))
    else:
        (folder / "ballast").unlink()
    for later in range(step, step + deeds.KINDS):
        deeds.do(store, later)
        deeds.do(plain, later)
    as_after = everything(store) == everything(plain)
    store.close()
    json.dump({"told": told, "deeds": step, "before": as_before, "after": as_after}, sys.stdout)


if __name__ == "__main__":
    main(Path(sys.argv[1]), sys.argv[2])
