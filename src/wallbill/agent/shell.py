"""Where the agent's sources are read from the installed package."""

from collections.abc import Mapping
from importlib import resources
from types import MappingProxyType


def device_modules() -> Mapping[str, str]:
    """The source of each of the agent's modules, by its file's name."""
    folder = resources.files("wallbill.agent.device")
    return MappingProxyType(
        {
            file.name: file.read_text(encoding="utf-8")
            for file in sorted(folder.iterdir(), key=lambda file: file.name)
            if file.name.endswith(".py")
        }
    )
