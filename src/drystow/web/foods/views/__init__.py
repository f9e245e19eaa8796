"""Views: own foods and recipes."""
