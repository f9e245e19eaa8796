"""Plans: many batches over the next days, one load at its best, and a whole season."""
