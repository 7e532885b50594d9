"""What a line of the log belongs to: a request, or one run of a job.

It follows the work through threads and tasks that are handed the context of whoever began it.
"""

import re
from random import getrandbits
from typing import Final

from structlog.contextvars import bind_contextvars, bound_contextvars, get_contextvars

# Crockford's Base32: no letter in it can be read aloud or written down as another.
LETTERS: Final = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"
LENGTH: Final = 10
NUMBER: Final = re.compile(r"[A-Za-z0-9._-]{8,64}")
"""What the number of a request may look like that another program gave it."""

belongs_to = bound_contextvars
belong_to = bind_contextvars


def new_number() -> str:
    """A new number of a request or a run, `7K3QM-9TXR2`: short enough to be read to somebody."""
    # It need not be hard to guess; asking the system each time costs more than all else of a line.
    bits = getrandbits(5 * LENGTH)
    letters = "".join(LETTERS[bits >> 5 * place & 31] for place in range(LENGTH))
    return f"{letters[:5]}-{letters[5:]}"


def request_number() -> str:
    """The number of the request that is being answered, empty outside of one."""
    return str(get_contextvars().get("request", ""))
