"""Views: readings of a dryer, files of loggers, live readings."""
