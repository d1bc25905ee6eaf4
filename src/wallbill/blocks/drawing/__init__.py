"""Exact drawing on whole pixels: grids, shapes, hatches, palettes, labels, and the markup they become."""
