"""Serving a wall: device endpoints, the timetable, the work of pressing, and watching over it all.

What is pure stands in modules of its own (`answering.py`, `timetable.py`, `editing.py`, `watching.py`); clocks, sockets,
processes and threads in `shell_*.py`, put together by `shell.py`.
"""
