"""``make bench``: every benchmark, one after the other, as Markdown on standard output."""

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from benchmarks import charts, inks, ocr, speed, store


def main() -> None:
    """Print the tables that docs/explanation quotes."""
    print("## Speed: facts to PNG, the hall sheet, 648 x 480, three inks\n")
    print(speed.report())
    print("## Charts, beside matplotlib's raster back end with smoothing off\n")
    print(charts.report())
    print("## Reading: characters read right by tesseract, percent\n")
    print(ocr.report())
    print("## Inks: separating a picture, beside Pillow's table and quantise\n")
    print(inks.report())
    print("## Store: what its writes cost, beside the driver alone with statements written by hand\n")
    print(store.report())


if __name__ == "__main__":
    main()
