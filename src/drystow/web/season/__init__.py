"""Seasons: what grows when, and whether the dryers can keep up."""
