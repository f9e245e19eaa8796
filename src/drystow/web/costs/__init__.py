"""What batches cost."""
