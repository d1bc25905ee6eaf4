"""Engines, tools and panels for the tests of the press."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from tests.press.makings import MemoryKeep

from wallbill.faces.shell import load_shelf
from wallbill.press.model import Limits
from wallbill.press.pressing import PressTools
from wallbill.press.shell import MemoryPlans
from wallbill.press.shell_blitz import BlitzEngine
from wallbill.press.shell_chromium import ChromiumEngine


@pytest.fixture(scope="session")
def blitz() -> Iterator[BlitzEngine]:
    """One warm engine for all tests."""
    engine = BlitzEngine(limits=Limits(page_s=20.0))
    yield engine
    engine.close()


@pytest.fixture(scope="session")
def chromium() -> Iterator[ChromiumEngine]:
    """One warm browser for all tests."""
    engine = ChromiumEngine(limits=Limits(page_s=30.0, start_s=60.0))
    yield engine
    engine.close()


@pytest.fixture(scope="session")
def tools(blitz: BlitzEngine) -> PressTools:
    """The default engine with the packaged faces; plans and faces are kept for the session."""
    return PressTools(blitz, load_shelf(), MemoryKeep(), MemoryPlans())


@pytest.fixture(scope="session")
def chromium_tools(chromium: ChromiumEngine, tools: PressTools) -> PressTools:
    """The same with the browser."""
    return PressTools(chromium, tools.shelf, tools.keep, MemoryPlans())


@pytest.fixture
def cases() -> Path:
    """The folder with the data of these tests."""
    return Path(__file__).parent
