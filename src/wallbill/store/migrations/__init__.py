"""How the tables of a store came about, edition by edition; run by `shell_migrating.py` through Alembic.

An edition once released is never changed: what comes later is a new file in `versions/`, named in `tables.EDITIONS`.
"""
