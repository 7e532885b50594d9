"""A ward at a past instant: what is asked for, the way there, and what was charted later."""
