"""Many batches over days."""
