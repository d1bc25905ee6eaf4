"""Wallbill: pages of changing facts, typeset exactly for reflective panels of a few inks.

The rooms of the package, and which may import which, stand in ``docs/ARCHITECTURE.md``.
"""

__version__ = "0.1.0"
