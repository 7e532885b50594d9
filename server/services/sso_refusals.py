"""Why a provider of sign-ins recognised nobody."""


class ProviderAway(Exception):
    """The provider cannot be asked; `why` says what happened, in words for whoever runs a board."""

    def __init__(self, why: str) -> None:
        super().__init__(why)
        self.why = why


class ProviderRefused(Exception):
    """The provider said no, by one of its words (RFC 6749, sections 4.1.2.1 and 5.2)."""

    def __init__(self, word: str) -> None:
        super().__init__(word)
        self.word = word


class LibraryMissing(Exception):
    """Single sign-on was asked for, and what it stands on is not installed."""
