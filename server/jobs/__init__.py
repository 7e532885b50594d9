"""What is done by time alone, and who does it."""
