"""Ports for servers that run in processes of their own."""

import socket


def free_port() -> int:
    """A port that nobody listens on just now."""
    with socket.socket() as found:
        found.bind(("127.0.0.1", 0))
        port: int = found.getsockname()[1]
        return port


def is_free(port: int) -> bool:
    """Whether nobody listens on a port."""
    with socket.socket() as probe:
        return probe.connect_ex(("127.0.0.1", port)) != 0
