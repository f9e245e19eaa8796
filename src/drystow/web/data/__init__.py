"""Data out and in: tables, files, backups, API."""
