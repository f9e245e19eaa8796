"""The pages that need no records: the demo load and the empty state."""
