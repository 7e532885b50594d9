"""Ports for servers that run in processes of their own."""

import os
import socket
from itertools import count
from typing import Final

FIRST, PORTS = 12_000, 18_000
"""Below those that systems give to whoever calls: none of these can be given away meanwhile."""
APART: Final = 211
"""So many ports lie between those of two processes of tests that began one after the other."""
_OWN: Final = count(os.getpid() * APART)


def free_port() -> int:
    """A port that nobody listens on just now, another one each time."""
    return next(port for port in (FIRST + n % PORTS for n in _OWN) if is_free(port))


def is_free(port: int) -> bool:
    """Whether nobody listens on a port."""
    with socket.socket() as probe:
        return probe.connect_ex(("127.0.0.1", port)) != 0
