"""From a picture to what a panel's controller, or its maker's script, wants to be fed. Pure."""

from __future__ import annotations

from typing import NamedTuple

from wallbill.agent.device.plates import Picture, bits_reversed, codes, full, inverted, trimmed, turned, union


class Plane(NamedTuple):
    """A plane of one bit a pixel. ``inks``: those that set a bit. ``one_means``: ``"ink"``, or ``"paper"`` to turn each bit over."""

    name: str
    inks: tuple[str, ...]
    one_means: str = "ink"


class Packing(NamedTuple):
    """How a panel's memory is laid out.

    ``rotation_deg``, ``mirror``: from the panel's scan order to the memory's: turned clockwise, then mirrored left to right.
    ``bits``: 1 for planes, 2, 4 or 8 for one plane of numbers. ``codes``: the number of each ink, in the panel's order.
    ``low_first``: the leftmost pixel of a byte stands in its low bits. ``row_bytes``: rows are filled up to a multiple.
    ``fill``: 0 or 1, what they are filled up with.
    """

    rotation_deg: int = 0
    mirror: bool = False
    bits: int = 1
    planes: tuple[Plane, ...] = ()
    codes: tuple[int, ...] = ()
    low_first: bool = False
    row_bytes: int = 1
    fill: int = 0


class Packed(NamedTuple):
    """What is fed. ``names``, ``one_means``: of the planes, in order. ``stride_bytes``: of a row, in each plane."""

    width_px: int
    height_px: int
    bits: int
    names: tuple[str, ...]
    one_means: tuple[str, ...]
    stride_bytes: int
    planes: tuple[bytes, ...]


def usual_packing(inks: tuple[str, ...]) -> Packing:
    """The packing that is common practice, no source, for a panel of these inks.

    Black and white: one plane, 1 is white. A third ink: a second plane, 1 is ink. More: their places as numbers.
    """
    if len(inks) <= 3 and "black" in inks and "white" in inks:
        others = tuple(Plane(ink, (ink,)) for ink in inks if ink not in ("black", "white"))
        return Packing(planes=(Plane("black", ("black",), "paper"), *others))
    bits = 1 if len(inks) <= 2 else 2 if len(inks) <= 4 else 4
    if bits == 1:
        return Packing(planes=(Plane(inks[1], (inks[1],)),))
    return Packing(bits=bits, codes=tuple(range(len(inks))))


def pack(picture: Picture, packing: Packing, inks: tuple[str, ...]) -> Packed:
    """The planes of a picture whose plates are of ``inks``, in that order."""
    picture = turned(picture, packing.rotation_deg, mirror=packing.mirror)
    if packing.bits == 1:
        planes = tuple(_plane(picture, plane, inks, packing) for plane in packing.planes)
        names = tuple(plane.name for plane in packing.planes)
        means = tuple(plane.one_means for plane in packing.planes)
    else:
        planes = (codes(picture, packing.codes, bits=packing.bits, low_first=packing.low_first),)
        names, means = ("codes",), ("code",)
    stride = -(-picture.width_px * packing.bits // 8)
    wanted = -(-stride // packing.row_bytes) * packing.row_bytes
    filled = tuple(trimmed(plane, stride, wanted, fill=255 * packing.fill) for plane in planes)
    return Packed(picture.width_px, picture.height_px, packing.bits, names, means, wanted, filled)


def _plane(picture: Picture, plane: Plane, inks: tuple[str, ...], packing: Packing) -> bytes:
    """One plane's bits, the spare ones at the ends of rows as the packing wants them."""
    wanted = tuple(picture.plates[inks.index(name)] for name in plane.inks)
    bits = int.from_bytes(union(wanted), "big")
    rim = full(picture)
    whole = int.from_bytes(rim, "big")
    if plane.one_means == "paper":
        bits ^= whole
    if packing.fill:
        bits |= int.from_bytes(inverted(rim), "big")
    data = bits.to_bytes(len(rim), "big")
    return bits_reversed(data) if packing.low_first else data


def header(packed: Packed, **more: object) -> dict[str, object]:
    """What is told before the planes, in one line of JSON. ``more``: what else the reader may want to know."""
    return {
        "v": 1,
        "width_px": packed.width_px,
        "height_px": packed.height_px,
        "bits": packed.bits,
        "planes": list(packed.names),
        "one_means": list(packed.one_means),
        "stride_bytes": packed.stride_bytes,
        "bytes": [len(plane) for plane in packed.planes],
        **more,
    }
