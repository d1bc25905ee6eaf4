"""The whole way through the command line: real walls, real engine, real files."""
