"""Sheets: facts, wall and time become HTML in a sandboxed template environment, and HTML an impression."""
