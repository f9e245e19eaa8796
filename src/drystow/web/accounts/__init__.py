"""Accounts, roles and signing in, for the house network."""
