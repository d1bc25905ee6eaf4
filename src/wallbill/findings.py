"""Findings: what a check saw, as values that any room may return beside its result.

A finding is returned, never raised. It names its rule, the place, what was measured, the limit that it was
held against, and how to mend it. Only the command line and the server decide what a finding leads to.
"""

from dataclasses import dataclass
from enum import StrEnum

from wallbill.errors import Place


class Weight(StrEnum):
    """How much a finding matters: a note, a warning, or a reason not to put the sheet up."""

    NOTE = "note"
    WARN = "warn"
    STOP = "stop"


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing that a check saw.

    ``rule`` is a stable name such as ``faces.topology``, with a heading in ``docs/reference/findings.md``.
    ``measured`` and ``limit`` are printed as they stand, in ``unit`` where they are numbers.
    """

    rule: str
    where: Place
    what: str
    measured: str = ""
    limit: str = ""
    unit: str = ""
    mend: str = ""
    weight: Weight = Weight.WARN

    def __str__(self) -> str:
        figures = ""
        if self.measured and self.limit:
            figures = f" ({self.measured} against {self.limit}{f' {self.unit}' if self.unit else ''})"
        place = str(self.where)
        head = f"{self.weight}: {place + ': ' if place else ''}{self.what}{figures} [{self.rule}]"
        return f"{head}\n  mend: {self.mend}" if self.mend else head


def plain_finding(finding: Finding) -> dict[str, str]:
    """A finding as plain values for JSON."""
    return {
        "rule": finding.rule,
        "weight": str(finding.weight),
        "where": str(finding.where),
        "what": finding.what,
        "measured": finding.measured,
        "limit": finding.limit,
        "unit": finding.unit,
        "mend": finding.mend,
    }
