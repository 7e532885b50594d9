"""What one press records at a step of the pathway: facts that are done in one movement."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from datetime import timedelta
from typing import Final

from server.domain.events import sorted_live
from server.domain.giving_sets import sets_of
from server.domain.picture import Picture
from server.domain.words import ClockName, Confirmation, Fate, Kind, Phase
from server.pages.episodes.pathway import asked_steps
from server.pages.episodes.present import UNSTARTED, is_owed


@dataclass(frozen=True, slots=True)
class Press:
    """One button: what it says, the facts it records by the names of `bare_facts`, a remark."""

    name: str
    button: str
    facts: tuple[str, ...]
    note: str = ""


def presses_of(key: str, picture: Picture) -> tuple[Press, ...]:
    """Answer the presses that a step offers now, the main one first."""
    offer = _OFFERS.get(key)
    return () if offer is None else tuple(offer(picture))


_CONFIRMED_BEFORE: Final = {
    "consent": Confirmation.ORDER_CONSENT,
    "sample": Confirmation.GROUP_SAMPLE,
    "access": Confirmation.ACCESS,
}
_WORDS: Final = {
    Confirmation.ORDER_CONSENT: "order and consent",
    Confirmation.GROUP_SAMPLE: "group and sample",
    Confirmation.ACCESS: "line and access",
}
_TWO: Final = 2


def _confirm_rest(picture: Picture) -> Iterator[Press]:
    """All that is to be confirmed before the unit comes, together, or with its receipt."""
    left = _unconfirmed(picture)
    if not left or picture.episode.phase not in UNSTARTED:
        return
    facts = tuple(f"confirmed_{step}" for step in left)
    words = f"{', '.join(_WORDS[step] for step in left).capitalize()}."
    confirm = f"Confirm {_together(left)}"
    whole = tuple(_with_receipt(picture, confirm, facts, words))
    yield from whole
    if len(left) >= _TWO:
        yield Press("all", f"{confirm} only" if whole else confirm, facts, words)


def _unconfirmed(picture: Picture) -> tuple[Confirmation, ...]:
    asked = {step.key for step in asked_steps(picture.case.policy)}
    done = picture.episode.confirmed
    steps = ((key, step) for key, step in _CONFIRMED_BEFORE.items() if key in asked)
    return tuple(step for _, step in steps if step not in done)


def _together(left: Sequence[Confirmation]) -> str:
    if len(left) == 1:
        return _WORDS[left[0]]
    return "both" if len(left) == _TWO else f"all {len(left)}"


def _with_receipt(
    picture: Picture, confirm: str, facts: tuple[str, ...], words: str
) -> Iterator[Press]:
    """The same and the receipt: who stands at the bed with the bag does both in one look."""
    if picture.episode.received_at is not None:
        return
    for received in _receipt(picture):
        both = f"{confirm}; received, bag sound"
        yield Press("whole", both, (*facts, *received.facts), f"{words} {SOUND}")


def _collection(picture: Picture) -> Iterator[Press]:
    episode = picture.episode
    if episode.phase is Phase.REQUESTED:
        yield Press("ready", "Ready at the blood bank", ("available",))
    collected = Confirmation.COLLECTED in episode.confirmed or episode.received_at is not None
    asked = Confirmation.COLLECTED in picture.case.policy.pathway_steps
    if episode.phase is Phase.ISSUED and asked and not collected:
        yield Press("collected", "Collected, on its way", ("confirmed_collected",))


def _receipt(picture: Picture) -> Iterator[Press]:
    episode = picture.episode
    if episode.phase is not Phase.ISSUED or episode.inspection is not None:
        return
    if episode.received_at is None:
        yield Press("sound", "Received, the bag is sound", ("received", "sound"), SOUND)
    else:
        yield Press("sound", "The bag is sound", ("sound",), SOUND)


SOUND: Final = "No leak, no clots, colour as it should be, label readable."


def _line(picture: Picture) -> Iterator[Press]:
    episode = picture.episode
    if episode.phase is not Phase.ISSUED or episode.spiked_at is not None:
        return
    usual, *others = sets_of(picture.case.policy)
    note = f"The usual set, {usual} drops/mL." if others else ""
    yield Press("primed", "Spiked, new set primed", ("spiked", "set_hung"), note)
    if _has_set(picture):
        yield Press("same", "Spiked, the set that hangs", ("spiked",))
    for drops in others:
        button = f"Spiked, new set of {drops} drops/mL"
        yield Press(f"primed-{drops}", button, ("spiked", f"set_hung_{drops}"))


def _has_set(picture: Picture) -> bool:
    """Whether a set of the patient hangs whose time is not over."""
    life: timedelta = picture.case.policy.giving_set_life
    hung = [one.at for one in picture.case.line]
    return any(picture.standing.now <= at + life for at in hung)


def _rate(picture: Picture) -> Iterator[Press]:
    rate = picture.infusion.rate_ml_h
    first = is_owed(picture, ClockName.FIRST_CHECK)
    if picture.episode.phase is Phase.RUNNING and rate is not None and not first:
        yield Press("stays", f"Reviewed, stays at {rate:g} mL/h", ("confirmed_rate_reviewed",))


def _bag(picture: Picture) -> Iterator[Press]:
    episode = picture.episode
    if episode.phase is not Phase.ENDED or episode.reaction_at is not None:
        return
    completed = any(event.kind is Kind.COMPLETED for event in sorted_live(picture.case.events))
    fate = Fate.TRANSFUSED if completed else Fate.PART_TRANSFUSED
    words = fate.replace("_", " ").capitalize()
    if not episode.reactions:
        yield Press("disposed", f"{words}, bag disposed of", ("disposed", f"fate_{fate}"))
    yield Press("returned", f"{words}, bag returned", ("returned", f"fate_{fate}"))


_OFFERS: Final[dict[str, Callable[[Picture], Iterator[Press]]]] = {
    "consent": _confirm_rest,
    "sample": _confirm_rest,
    "access": _confirm_rest,
    "issue": _collection,
    "receipt": _receipt,
    "line": _line,
    "rate": _rate,
    "bag": _bag,
}
