"""Ice: how long food takes to freeze."""
