"""Codes that a camera reads from the panel."""
