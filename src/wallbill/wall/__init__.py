"""The wall folder: its settings, read and checked with file and line, its displays, sheets and own sources."""
