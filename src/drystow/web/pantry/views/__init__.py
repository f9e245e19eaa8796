"""Views: packages, places and what became of them."""
