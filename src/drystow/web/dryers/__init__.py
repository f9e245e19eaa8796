"""The web page: dryers and their service log."""
