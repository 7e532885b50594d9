"""The list of one nurse: what is due on the units they answer for, by time."""
