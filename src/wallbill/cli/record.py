"""What is written for a pressed display: the picture, the plates, the proof, and the record of what made them."""

import json
from pathlib import Path
from typing import Any

import numpy as np

from wallbill import __version__
from wallbill.cli.shell import write_whole
from wallbill.findings import plain_finding
from wallbill.inks.encoding import encode_plates, encode_png
from wallbill.inks.proof import proof_png
from wallbill.inks.scanning import scanned
from wallbill.sheets.making import Job, Made, page_file
from wallbill.wall.model import Display


def write_made(made: Made, display: Display, out: Path) -> dict[str, str]:
    """Write the pictures of a pressed display into ``out``, each whole or not at all.

    Gives the names of all its files, the page's included, by what they are. Raises `OSError`.
    """
    for_device = scanned(made.impression, display.turned)
    files = {
        "impression": (f"{display.name}.png", encode_png(for_device)),
        "plates": (f"{display.name}.plates", encode_plates(for_device)),
        "proof": (f"{display.name}.proof.png", proof_png(made.impression, display.panel)),
    }
    for name, data in files.values():
        write_whole(out / name, data)
    return {**{what: name for what, (name, _) in files.items()}, "page": page_file(display)}


def record_of(made: Made, job: Job, files: dict[str, str]) -> dict[str, Any]:
    """What made an impression, as plain values for JSON."""
    counts = np.bincount(made.impression.codes.ravel(), minlength=len(made.impression.inks))
    return {
        "display": job.display.name,
        "sheet": made.sheet,
        "panel": job.display.panel.name,
        "at": job.now.isoformat(),
        "digest": made.impression.digest,
        "width_px": made.impression.width_px,
        "height_px": made.impression.height_px,
        "inks": {ink.name: int(count) for ink, count in zip(made.impression.inks, counts, strict=True)},
        "stale": list(made.stale),
        "sources": {
            name: {
                "state": str(age.freshness),
                "dated": age.dated.isoformat() if age.dated else None,
                "credit": age.credit,
                "trouble": age.told,
            }
            for name, age in made.ages.items()
        },
        "findings": [plain_finding(finding) for finding in made.findings],
        "files": files,
        "wallbill": __version__,
    }


def write_record(record: dict[str, Any], out: Path) -> None:
    """Write the record beside its pictures."""
    text = json.dumps(record, indent=2, ensure_ascii=False) + "\n"
    write_whole(out / f"{record['display']}.json", text.encode())
