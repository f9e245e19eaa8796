"""What is inside the food: ice, heat, bound water, glass."""
