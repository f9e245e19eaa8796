"""Accounts, roles and signing in, for the local network."""
