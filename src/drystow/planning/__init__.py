"""What to put into the dryer, when, and how to run it."""
