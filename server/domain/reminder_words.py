"""What a reminder says where no board is beside it: a sentence without a patient's name."""

from datetime import datetime, tzinfo
from typing import Final

from server.domain.wording import CLOCK, dated_time
from server.domain.words import ClockName, ClockState, Stage

_EARLY: Final = frozenset({Stage.NOTICE, Stage.DUE})
_SINCE: Final = {
    ClockState.MET: "done since",
    ClockState.MET_LATE: "done since",
    ClockState.MISSED: "too late to be done",
    ClockState.LAPSED: "no longer owed",
}


def reminder_text(
    bed: str,
    clock: ClockName,
    stage: Stage,
    times: tuple[datetime | None, datetime | None],
    zone: tzinfo,
    now: datetime,
) -> str:
    """Answer the sentence, such as `Bed 4: first check, due 14:20, limit 14:25 passed`.

    `times` are when it is due and its limit; `zone` is the ward's, whose wall they are read on.
    """
    due, limit = (None if at is None else dated_time(at, zone, now) for at in times)
    name = CLOCK[clock]
    said = [f"Bed {bed}: {name[0].lower()}{name[1:]}"]
    if due is not None:
        said.append(f"due {due}")
    if stage not in _EARLY:
        said.append("limit passed" if limit in (None, due) else f"limit {limit} passed")
    return ", ".join(said)


def since_then(state: ClockState | None, *, acknowledged: bool) -> str:
    """Answer what has become of its clock meanwhile, empty while it is owed and nobody has it.

    `state` None: a correction took the clock away.
    """
    if state is None:
        return "withdrawn by a correction"
    return _SINCE.get(state, "somebody has it" if acknowledged else "")
