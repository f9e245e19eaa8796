"""The kitchen app: what happened, kept in a database, and its pages."""
