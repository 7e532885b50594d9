"""The only SQL of the product: tables, sessions and queries, on SQLite and PostgreSQL alike.

Rows never leave this package; its queries answer frozen values.
"""
