"""What a batch costs."""
