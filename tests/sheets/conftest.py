"""Warm tools for the tests that press a sheet."""

from collections.abc import Iterator

import pytest

from tests.sheets.pressing import Pressing, open_pressing


@pytest.fixture(scope="session")
def pressing(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Pressing]:
    """Presses sheets on real panel profiles; one engine for all tests."""
    with open_pressing(tmp_path_factory.mktemp("pressing")) as warm:
        yield warm
