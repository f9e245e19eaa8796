"""A write that is sent twice counts once."""
