"""Quantities with their units, and their wording in the language of the wall.

Gives `Quantity`, exact conversions, and locale formatting of numbers, dates and times (CLDR).
"""
