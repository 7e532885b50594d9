"""The duty of a day: what stands in its form, what was typed into it, and what work takes here."""
