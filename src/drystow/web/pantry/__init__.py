"""The web page: packages, places and what became of them."""
