"""Containers, oxygen, absorbers, moisture."""
