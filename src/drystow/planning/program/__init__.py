"""Program."""
