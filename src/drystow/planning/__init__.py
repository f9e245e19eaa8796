"""What to put into the dryer and how to run it: one load from the counter, and the shelf program."""
