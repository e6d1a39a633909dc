"""What of a specimen best explains a measured list."""
