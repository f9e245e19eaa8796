"""The best shelf program."""
