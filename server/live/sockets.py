"""What the system is told of the connections of clients."""

import os
import socket
from collections.abc import Iterable
from typing import Final, Protocol

from server.live.channel import STALLED_SECONDS

GONE_AFTER_MS: Final = int(STALLED_SECONDS * 1_000)


class HasFile(Protocol):
    """A socket of some kind, by its file."""

    def fileno(self) -> int:
        """The number of the file."""


def drop_who_takes_nothing(listening: Iterable[HasFile]) -> None:
    """Have the system end connections made here whose client has taken nothing for long.

    Megabytes fit into a connection that nobody reads, so that whoever writes to it would not
    notice for hours; nor would it of a client that was switched off. What the listening socket is
    told holds for each connection; where the system knows nothing of it, it is left as it is.
    """
    option = getattr(socket, "TCP_USER_TIMEOUT", None)
    if option is None:
        return
    for one in listening:
        # A loop hands out sockets on which nothing may be set; the file is the same.
        with socket.socket(fileno=os.dup(one.fileno())) as same:
            if same.family in {socket.AF_INET, socket.AF_INET6}:
                same.setsockopt(socket.IPPROTO_TCP, option, GONE_AFTER_MS)
