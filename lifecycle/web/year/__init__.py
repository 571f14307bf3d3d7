"""What a year adds up to."""
