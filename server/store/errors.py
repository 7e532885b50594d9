"""What the store says when it cannot do its part."""


class Away(Exception):
    """The database cannot be reached, is locked or full: the same call may pass later."""


class Clash(Exception):
    """A row of the same identity exists, or the one referred to does not; names the rule."""
