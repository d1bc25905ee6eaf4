"""Where each key of a TOML file stands, so that every message about it can say file, line and field.

Gives `Places` (values and lines of one file) and the wording of faults that people can mend.
"""
