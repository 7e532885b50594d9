"""What the product exists for: facts in, clocks, urgency and reminders out.

Nothing here reads a clock, a database, a file or the environment: the instant is an argument.
"""
