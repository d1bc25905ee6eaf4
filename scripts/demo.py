"""``make demo``: presses the example wall with no network and lays the proofs out on one page."""

import html
import json
import sys
from pathlib import Path

from wallbill.cli.main import run

ROOT = Path(__file__).resolve().parents[1]
WALL = ROOT / "examples" / "fennel-quay"
OUT = ROOT / "build" / "demo"
AT = "2026-03-14T08:00"

STYLE = """
body { margin: 3rem auto; max-width: 1100px; padding: 0 1.5rem; font: 17px/1.5 system-ui, sans-serif;
       color: #222; background: #f4f3ef; }
h1 { font-size: 2rem; margin: 0 0 .3rem; } h2 { font-size: 1.2rem; margin: 0 0 .2rem; }
figure { margin: 2.5rem 0; } figcaption { margin-top: .6rem; font-size: .9rem; color: #555; }
img { max-width: 100%; height: auto; box-shadow: 0 1px 6px rgb(0 0 0 / .25); }
"""


def main() -> int:
    """Press the wall, write ``index.html`` beside the pictures, and say where they are."""
    status = run(["press", str(WALL), "--offline", "--at", AT, "--out", str(OUT)])
    if status:
        return status
    records = [json.loads(file.read_text(encoding="utf-8")) for file in sorted(OUT.glob("*.json"))]
    (OUT / "index.html").write_text(page(records), encoding="utf-8")
    for record in records:
        print(f"{record['display']:>9}  {record['panel']:<38} {OUT / record['files']['proof']}")
    print(f"\nAll five on one page: {(OUT / 'index.html').as_uri()}")
    return 0


def page(records: list[dict[str, object]]) -> str:
    """The proofs under one another, with what made them."""
    figures = "".join(figure(record) for record in records)
    return (
        f'<!DOCTYPE html><html lang="en"><meta charset="utf-8"><title>Fennel Quay</title><style>{STYLE}</style>'
        f"<h1>Fennel Quay</h1><p>The example wall as its five displays show it on {AT.replace('T', ' at ')}.</p>"
        f"{figures}</html>"
    )


def figure(record: dict[str, object]) -> str:
    """One display's proof and caption."""
    inks = ", ".join(f"{name} {count:,}" for name, count in dict(record["inks"]).items() if count)  # type: ignore[call-overload]  # JSON has no types
    files = dict(record["files"])  # type: ignore[call-overload]  # JSON has no types
    caption = f"{record['panel']}, sheet {record['sheet']}. Pixels by ink: {inks}."
    return (
        f"<figure><h2>{html.escape(str(record['display']))}</h2>"
        f'<img src="{html.escape(files["proof"])}" alt="{html.escape(str(record["display"]))}">'
        f"<figcaption>{html.escape(caption)}</figcaption></figure>"
    )


if __name__ == "__main__":
    sys.exit(main())
