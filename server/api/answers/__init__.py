"""What is answered: models that document it, and functions that make them of frozen values."""
