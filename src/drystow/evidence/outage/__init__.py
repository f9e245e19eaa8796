"""Power cuts."""
