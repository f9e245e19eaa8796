"""What is in the basket: foods, recipes, nutrition."""
