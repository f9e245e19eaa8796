"""Many batches over the next days; one at its best."""
