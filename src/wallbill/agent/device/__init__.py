"""The agent for Linux boards: fetches a picture, checks it, shows it, sleeps. Standard library of Python 3.9 only.

Imports nothing of Wallbill but itself: `wallbill agent bundle` packs this folder alone into one file that runs, in which it
is called ``wallbill_agent``. The way of a wake is `shell_wake.py`; files named ``shell_…`` touch the machine, all
others are pure.
"""
