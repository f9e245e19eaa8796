"""What was seen of a batch, and how dry that says it is."""
