"""Findings at elements that a loop of a template made: told once, with how many more there are."""

from collections.abc import Iterable
from dataclasses import replace

from wallbill.findings import Finding
from wallbill.press.typeplan import Source

_Path = tuple[tuple[str, str], ...]


def told_once(source: Source, found: Iterable[tuple[int, Finding]]) -> tuple[Finding, ...]:
    """Findings by element index, those of one rule at elements of one path joined: the worst of them, and a count.

    A path is the tags and classes from the root to the element, which all turns of a loop share.
    """
    joined: dict[tuple[str, str, _Path], list[Finding]] = {}
    for index, finding in found:
        joined.setdefault((finding.rule, finding.where.field, _path(source, index)), []).append(finding)
    return tuple(_joined(findings) for findings in joined.values())


def _joined(findings: list[Finding]) -> Finding:
    worst, more = max(findings, key=_excess), len(findings) - 1
    if not more:
        return worst
    return replace(worst, what=f"{worst.what}, and at {more} more place{'s' if more > 1 else ''}")


def _excess(finding: Finding) -> float:
    """How far a finding is beyond its limit; of findings without figures the first counts."""
    try:
        return abs(float(finding.measured) - float(finding.limit))
    except ValueError:
        return 0.0


def _path(source: Source, index: int) -> _Path:
    path = []
    while index >= 0:
        has = source.attributes[index]
        path.append((source.markup.elements[index].tag, has["class"].value if "class" in has else ""))
        index = source.markup.elements[index].parent
    return tuple(path)
