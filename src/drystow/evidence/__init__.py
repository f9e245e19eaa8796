"""What was seen of a batch, and what it says about how dry the food is."""
