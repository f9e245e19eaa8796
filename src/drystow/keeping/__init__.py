"""How long packed food keeps, and what storage does not do."""
