"""The agent for Linux boards keeps the contract of device clients."""

import pytest

from tests.agent.agents import Agent
from tests.agent.contract import DeviceContract


class TestAgent(DeviceContract):
    """The agent, in this process; on another Python, its file in a process of its own."""

    @pytest.fixture
    def client(self) -> Agent:
        """The agent."""
        return Agent()
