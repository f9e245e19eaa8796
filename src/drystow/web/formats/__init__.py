"""One way to write days and times in each language."""
