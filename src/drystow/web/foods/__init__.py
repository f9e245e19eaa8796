"""Own foods and recipes."""
