"""What batches teach."""
