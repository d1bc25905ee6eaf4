"""The shell client keeps the contract of device clients."""

import pytest

from tests.agent.contract import DeviceContract
from tests.agent.shell_client import ShellClient


class TestShellClient(DeviceContract):
    """With the shell that Debian calls sh."""

    @pytest.fixture
    def client(self) -> ShellClient:
        """The client."""
        return ShellClient("dash")
