"""What would notice if a number inside were wrong: each constant and table row is changed, the checks are run."""
