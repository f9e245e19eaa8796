"""Records and history, forms, answers, words."""
