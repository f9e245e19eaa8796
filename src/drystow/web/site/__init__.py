"""First page, settings, history, trash."""
