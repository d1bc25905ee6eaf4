"""Reads the coastline that comes with the package."""

from functools import cache
from importlib import resources

from wallbill.blocks.maps.coast import Coast, parse_coast


@cache
def load_coast() -> Coast:
    """The world's coastline and borders, read once. Raises `PictureError` if damaged."""
    data = resources.files("wallbill.blocks.maps").joinpath("data", "coast.bin").read_bytes()
    return parse_coast(data)
