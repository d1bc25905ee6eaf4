"""Faces: finding them, and fitting them to one pixel size so that every edge falls on the pixel grid.

Gives `FittedFace`, a font of one size whose outlines are FreeType's own bi-level bitmaps, and the shelf on
which faces are kept.
"""
