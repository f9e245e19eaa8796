"""Pages of the accounts."""
