"""Sets of vital signs on the page of a unit: what they say, their trend, what to ask about."""
