"""Where facts come from: one module a source, parsers pure, fetching and keeping in `shell.py`.

A parser takes bytes and gives a fact; the shell fetches, keeps the last good payload, and says what is stale.
"""
