"""Which store a wall asks for. Apart from `shell.py`, which is opened by who has no wall to load."""

from wallbill.store.shell import store_url
from wallbill.wall.model import Wall
from wallbill.wall.shell import secret_value


def wall_store_url(wall: Wall) -> str:
    """The address of the store that a wall asks for. Raises `WallError` where its secret is not set."""
    given = wall.store.url
    return store_url(wall.folder, None if given is None else secret_value(wall, given))
