"""Accounts, roles, signing in."""
