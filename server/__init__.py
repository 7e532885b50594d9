"""Fourth Hour: a ward transfusion scheduling board."""

__version__ = "0.1.0"
