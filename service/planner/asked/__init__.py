"""What is asked: spec, catalog, and both settled into one job."""
