"""Packing a batch: containers, absorbers, labels, and what the batch came to."""
