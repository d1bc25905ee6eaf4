"""Makes docs/pictures/demo.png: the five displays of the example wall, pixel for pixel, the study at half its size.

Run ``make demo`` first; it reads the proofs from build/demo.
"""

from pathlib import Path

from PIL import Image

ROOT = Path(__file__).resolve().parents[1]
PROOFS = ROOT / "build" / "demo"
GROUND = (235, 234, 228)
GAP = 12


def proof(name: str, *, halved: bool = False) -> Image.Image:
    """One display's proof."""
    picture = Image.open(PROOFS / f"{name}.proof.png").convert("RGB")
    return picture.reduce(2) if halved else picture


def row(pictures: list[Image.Image]) -> Image.Image:
    """Pictures side by side, their tops on one line."""
    wide = sum(picture.width for picture in pictures) + GAP * (len(pictures) - 1)
    out = Image.new("RGB", (wide, max(picture.height for picture in pictures)), GROUND)
    x_px = 0
    for picture in pictures:
        out.paste(picture, (x_px, 0))
        x_px += picture.width + GAP
    return out


def column(pictures: list[Image.Image]) -> Image.Image:
    """Pictures one below the other, their left sides on one line."""
    high = sum(picture.height for picture in pictures) + GAP * (len(pictures) - 1)
    out = Image.new("RGB", (max(picture.width for picture in pictures), high), GROUND)
    y_px = 0
    for picture in pictures:
        out.paste(picture, (0, y_px))
        y_px += picture.height + GAP
    return out


def main() -> None:
    """Write the picture."""
    whole = column(
        [
            row([proof("hall"), proof("kitchen")]),
            row([proof("study", halved=True), column([proof("workshop"), proof("porch")])]),
        ]
    )
    target = ROOT / "docs" / "pictures" / "demo.png"
    target.parent.mkdir(exist_ok=True)
    whole.quantize(96, dither=Image.Dither.NONE).save(target, optimize=True)
    print(f"{target.relative_to(ROOT)}  {whole.width} x {whole.height}  {target.stat().st_size // 1024} kB")


if __name__ == "__main__":
    main()
