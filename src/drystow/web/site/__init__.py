"""The pages above all others: the first page, settings, history, trash, the first steps."""
