"""Writes the list in docs/decisions/README.md from the titles of the records."""

import re
from pathlib import Path

FOLDER = Path(__file__).resolve().parents[1] / "docs" / "decisions"
HEAD = """# Decisions

One page each: the problem, the options with numbers, the choice, and what would change our mind. A record is not
edited after it is accepted, only superseded by a later one. Numbers are given in blocks of ten, one a subject.

"""


def listing() -> str:
    """The page, with a line for each record in order."""
    lines = []
    for record in sorted(FOLDER.glob("[0-9]*.md")):
        title = record.read_text(encoding="utf-8").splitlines()[0].lstrip("# ")
        title = re.sub(r"^\d+[.:]?\s*", "", title)
        lines.append(f"- [{record.name[:4]}]({record.name}) {title}")
    return HEAD + "\n".join(lines) + "\n"


if __name__ == "__main__":
    (FOLDER / "README.md").write_text(listing(), encoding="utf-8")
