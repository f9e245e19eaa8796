"""What to put into the dryer and how to run it: the best load from a basket, the best program, plans and seasons."""
