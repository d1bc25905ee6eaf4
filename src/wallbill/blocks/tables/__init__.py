"""Tables, lists and texts that fit a box of whole pixels: measured columns, cut texts, and how many are left over."""
