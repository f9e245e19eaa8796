"""What is inside the food: ice, vapour, heat, bound water, glass."""
