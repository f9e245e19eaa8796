"""The ground of all apps: records and their history, forms, notices, background work, words for the reader."""
