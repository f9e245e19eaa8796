"""Views: dryers and their service log."""
