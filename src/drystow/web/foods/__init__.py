"""The web page: own foods and recipes."""
