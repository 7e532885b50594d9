"""Simulated nurses: a pure plan of who does what next, from what the board shows."""
