"""The blocks of code in the guide and in the reference, as they stand there."""

import re

from tests.house.source_tree import ROOT

GUIDE = "docs/how-to/connect-a-panel.md"
REFERENCE = "docs/reference/agent.md"


def blocks(page: str, language: str) -> list[str]:
    """The blocks of one language in a page."""
    text = (ROOT / page).read_text(encoding="utf-8")
    return re.findall(rf"^```{language}\n(.*?)^```$", text, flags=re.MULTILINE | re.DOTALL)
