"""What grows when, and can the dryers keep up."""
