"""Tags of the app."""
