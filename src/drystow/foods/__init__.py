"""What is in the basket: foods, their composition, recipes."""
