"""From the form of causes to one cause for each limit that was ticked."""

from collections.abc import Mapping
from typing import Final

from server.domain.errors import Invalid
from server.domain.payloads import CauseGiven
from server.domain.words import ClockName
from server.pages.forms.entry import Entry, Wrong
from server.pages.forms.fields import Options

OTHER: Final = "other"
NONE_TICKED: Final = "nothing was ticked; tick each limit that this explains"
NOT_KEPT: Final = "is none of the limits that were not kept"
NO_WORDS: Final = "nothing was entered; “other” needs your own words"


def cause_options(causes: tuple[str, ...]) -> Options:
    """Answer what is offered: the causes of the policy, and “other” at the end of any list."""
    offered = (*(text for text in causes if text != OTHER), OTHER)
    return tuple((text, text) for text in offered)


def breach_key(clock: ClockName, n: int) -> str:
    """Answer the name of one breach in a form."""
    return f"{clock}:{n}"


def read_causes(entry: Entry, lists: Mapping[str, Options]) -> tuple[CauseGiven, ...]:
    """Answer one cause for each limit that was ticked. Raises `Wrong` with all that is wrong."""
    ticked = dict.fromkeys(entry.all("clock"))
    if not ticked:
        entry.refuse("clock", NONE_TICKED)
    elif not ticked.keys() <= {key for key, _ in lists["breaches"]}:
        entry.refuse("clock", NOT_KEPT)
    cause = entry.choice("cause", [value for value, _ in lists["causes"]], required=True)
    text = entry.text("text")
    if cause == OTHER and text is None:
        entry.refuse("text", NO_WORDS)
    entry.check()
    try:
        return tuple(_cause(key, cause or "", text) for key in ticked)
    except Invalid as wrong:
        raise Wrong({wrong.field: wrong.message}) from wrong


def _cause(key: str, cause: str, text: str | None) -> CauseGiven:
    clock, _colon, n = key.partition(":")
    return CauseGiven(ClockName(clock), cause, text, int(n))
