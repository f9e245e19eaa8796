"""The web page: batches from the basket to the package."""
