"""A provider of sign-ins for tests: Authlib's own, on Flask, in a process of its own."""
