"""Charts of a review as drawings: numbers become places, with their words and their table."""
