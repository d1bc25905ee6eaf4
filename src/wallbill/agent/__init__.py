"""The device side: the agent for Linux boards in `device/`, which imports nothing of Wallbill, and how it is packed into one file."""
