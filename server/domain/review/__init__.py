"""Statistics of a ward's review: what was kept, what chance leaves open, and what is a signal."""
