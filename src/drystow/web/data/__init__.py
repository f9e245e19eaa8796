"""Data out and in: tables, load files, backups, and the interface for programs."""
