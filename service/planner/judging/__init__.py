"""What is told about a finished wall: checks, clashes and notices."""
