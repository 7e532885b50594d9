"""What can be sent: one model a body, with the bounds of every field."""
