"""What the command line does to the process that it runs in."""

import os
import sys


def hush_output() -> None:
    """Send what is left of standard output nowhere: its reader has gone, and saying so helps nobody."""
    nowhere = os.open(os.devnull, os.O_WRONLY)
    os.dup2(nowhere, sys.stdout.fileno())
