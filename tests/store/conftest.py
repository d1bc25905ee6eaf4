"""Both kinds of database, real ones: a fresh store for every test."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.sources.database import RunningDatabase, database
from tests.store.houses import Great, House, Lite


@pytest.fixture(scope="session")
def server() -> Iterator[RunningDatabase]:
    """One PostgreSQL server for all tests; each has a database of its own on it."""
    with database() as running:
        yield running


@pytest.fixture
def lite(tmp_path: Path) -> Iterator[House]:
    house = Lite(tmp_path / "wall")
    yield house
    house.close()


@pytest.fixture
def great(server: RunningDatabase, tmp_path: Path) -> Iterator[House]:
    house = Great(tmp_path / "wall", server)
    yield house
    house.close()


@pytest.fixture(params=["lite", "great"])
def house(request: pytest.FixtureRequest) -> House:
    """A wall's folder with a store that is not made yet, in SQLite and in PostgreSQL."""
    made: House = request.getfixturevalue(request.param)
    return made
