"""Batches from the basket to the proof."""
