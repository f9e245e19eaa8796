"""Outage."""
