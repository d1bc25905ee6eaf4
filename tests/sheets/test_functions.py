"""The functions of sheets are where the list says."""

from importlib import import_module
from types import SimpleNamespace

from wallbill.sheets.functions import BLOCKS


def test_the_list_names_every_function_of_every_family() -> None:
    for place, names in BLOCKS.items():
        module, name = place.split(":")
        bench = SimpleNamespace(pictures=None, wording=None, palette=None)
        family = getattr(import_module(f"wallbill.sheets.{module}"), name)(bench)
        assert set(names) == set(family.functions), place
