"""Template tags of the batches."""
