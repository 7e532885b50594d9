"""The page of one unit: what is drawn on it, and how it comes about."""
