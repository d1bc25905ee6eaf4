"""Blocks of time: a day of light, the month, events on a strip, days to go, and one large figure with its trend."""
