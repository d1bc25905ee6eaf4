"""Where the sources of the two small clients are read from the installed package."""

from collections.abc import Mapping
from pathlib import Path
from types import MappingProxyType

TWIN_FOLDER = Path(__file__).parent / "micro"
_CLIENT = Path(__file__).parent / "posix" / "wallbill-client.sh"


def twin_files() -> Mapping[str, str]:
    """The files that go onto a board, by name: the twin's, and the example board to be changed."""
    return MappingProxyType(
        {file.name: file.read_text(encoding="utf-8") for file in sorted(TWIN_FOLDER.glob("*.py"))}
    )


def shell_client() -> str:
    """The shell client."""
    return _CLIENT.read_text(encoding="utf-8")
