"""A real PostgreSQL for faults that several processes have in common."""

from tests.databases import postgres

__all__ = ["postgres"]
