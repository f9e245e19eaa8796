"""Synthetic batches that "is it dry?" is tried on: what people load, what really happens, what they see of it."""
