"""The address of a webhook: what may stand in it."""

from typing import Final
from urllib.parse import SplitResult, urlsplit

from server.domain.errors import Invalid

LONGEST: Final = 500
_FIELD: Final = "address"
_PRINTABLE: Final = frozenset(map(chr, range(0x21, 0x7F)))


def require_address(address: str, *, allow_http: bool) -> None:
    """Raise `Invalid` unless messages may go there.

    By https alone, or by http where the board is set to allow it; without a name and password,
    which would stand in the clear wherever the address is shown.
    """
    if len(address) > LONGEST:
        raise Invalid(_FIELD, f"is too long; expected at most {LONGEST} characters")
    if not _PRINTABLE.issuperset(address):
        raise Invalid(_FIELD, "holds a blank or a letter that no address has; write it encoded")
    parts = _parts(address)
    if parts.scheme == "http" and not allow_http:
        raise Invalid(_FIELD, "is not encrypted; expected https://…")
    if parts.scheme not in ("http", "https") or not parts.hostname:
        raise Invalid(_FIELD, "is no address of a program; expected https://host/path")
    if parts.username is not None or parts.password is not None:
        raise Invalid(_FIELD, "holds a name or password; what is sent is signed instead")
    if parts.fragment:
        raise Invalid(_FIELD, "holds a #, and nothing after it would be sent")


def host_of(address: str) -> str:
    """Answer the host of an address, for whoever need not know the rest of it."""
    return urlsplit(address).hostname or ""


def _parts(address: str) -> SplitResult:
    try:
        parts = urlsplit(address)
        _ = parts.port  # asking is what checks it
    except ValueError:
        message = "holds a host or port that cannot be; expected https://host:port/path"
        raise Invalid(_FIELD, message) from None
    return parts
