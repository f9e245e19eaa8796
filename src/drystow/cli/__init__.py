"""The command line, a thin twin of the library."""
