"""The head of the page of the program: how all stands, and how much of it was looked at."""

from collections.abc import Iterable
from typing import Final

from server.domain.invariants import Invariant, Standing
from server.domain.invariants.finding import ago
from server.services.read_invariants import ProgramState

TO_COME: Final = "The first look is still to come, within a minute of the start."


def summary_of(state: ProgramState) -> tuple[str, str]:
    """Answer what was looked at and how it stands, in words, and the kind of the notice."""
    kind = "high" if state.broken else "medium"
    if state.looked_at is None:
        return f"{_before_the_first(state)} {_known_so_far(state)}", kind
    if state.is_starting:
        found = f"What stands below was found {ago(state.looked_at, state.now)} ago."
        return f"{TO_COME} {found}", kind
    if state.is_stale:
        return "Nobody looks any more. What stands below is as it was found last.", "high"
    said = _none_broken(state) if not state.broken else _some_broken(state)
    return " ".join((said, *_not_told(state))), "high" if state.broken else "done"


def _before_the_first(state: ProgramState) -> str:
    nobody = "Nobody has looked yet, and no process has said that it runs the jobs."
    return TO_COME if state.is_starting else nobody


def _known_so_far(state: ProgramState) -> str:
    """What is known without a look: whether clocks are checked, and no more."""
    if not state.kept:
        return "Nothing is known so far."
    checked = "are not" if state.broken else "are"
    return f"So far one thing is known: clocks {checked} checked."


def _asked(state: ProgramState) -> int:
    return sum(one.finding.standing is not Standing.IDLE for one in state.kept)


def _none_broken(state: ProgramState) -> str:
    asked = _asked(state)
    return "The one that was asked holds." if asked == 1 else f"All {asked} that were asked hold."


def _some_broken(state: ProgramState) -> str:
    count = len(state.broken)
    return f"{count} of {_asked(state)} {'does' if count == 1 else 'do'} not hold."


def _not_told(state: ProgramState) -> Iterable[str]:
    """Of which nothing is said: there is nothing here to ask them of, or nobody looked."""
    idle, unseen = len(state.kept) - _asked(state), len(Invariant) - len(state.kept)
    if idle:
        yield f"{idle} could not be asked here; the table says why."
    if unseen:
        verb = "was" if unseen == 1 else "were"
        yield f"{unseen} {verb} not looked at: the process that leads does not know of it."


def looked_in_words(state: ProgramState) -> str:
    """Answer when somebody looked last, and who leads; nothing where the summary tells."""
    if state.looked_at is None or state.is_starting:
        return ""
    who = "No process says" if state.leader is None else f"{state.leader.name} says"
    return f"Looked at {ago(state.looked_at, state.now)} ago. {who} that it leads."
