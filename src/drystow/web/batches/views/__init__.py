"""Views: batches from the basket to the package."""
