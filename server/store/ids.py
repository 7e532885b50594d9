"""Identities for rows that came without one."""

from secrets import token_hex


def new_id() -> str:
    """Answer 16 random hexadecimal characters."""
    return token_hex(8)
