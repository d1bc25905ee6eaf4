"""The microcontroller twin keeps the contract of device clients, in MicroPython and, unchanged, in CPython."""

import pytest

from tests.agent.contract import DeviceContract
from tests.agent.micro_twin import TwinClient, cpython, micropython


class TestTwinOnMicroPython(DeviceContract):
    """On a heap of 32 KB, by way of a file."""

    @pytest.fixture
    def client(self) -> TwinClient:
        """The twin."""
        return TwinClient(micropython())


class TestTwinStraightToThePanel(DeviceContract):
    """Straight into the panel's frame memory."""

    @pytest.fixture
    def client(self) -> TwinClient:
        """The twin."""
        return TwinClient(cpython(), straight=True)
