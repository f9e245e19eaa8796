"""How long packed food keeps."""
