"""Labels, sheets, charts, plain data."""
