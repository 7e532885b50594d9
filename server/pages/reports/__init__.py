"""What the printed report of a period is made of."""
