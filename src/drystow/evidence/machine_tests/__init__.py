"""Tests of a dryer."""
