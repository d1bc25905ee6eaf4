"""Measuring a panel: a target sheet to show, readings to take from it, and what they say of inks and dots.

`target` makes the sheets, `readings`, `photo` and `by_eye` take what was seen of them, `fit` finds the figures of the
panel, `report` shows predicted against measured, `override` words them as a profile.
"""
