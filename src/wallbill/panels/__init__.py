"""Panels as data: pixels, pitch, inks, refresh times and outline, each figure with its source.

Gives `Panel` and `Ink`. Profiles lie in `data/`; a wall may add or override them in its own `panels/`.
"""
