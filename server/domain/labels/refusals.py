"""How a scan is refused: by what is wrong with it, never by what it says."""

from server.domain.errors import Invalid

SCAN = "scan"


def wrong(message: str) -> Invalid:
    """The refusal of a scan; `message` is what is wrong, then what was expected."""
    return Invalid(SCAN, message)
