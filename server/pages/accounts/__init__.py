"""What the page of the units of a period is made of."""
