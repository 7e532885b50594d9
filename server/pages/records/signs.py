"""The sets of vital signs as a table: what was read, the score or why none, the check it met."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import compress
from typing import Final

from server.domain.assessment import Assessment
from server.domain.clock import Clock
from server.domain.news2 import NotCalculated
from server.domain.observations import missing_signs
from server.domain.payloads import Observed
from server.domain.picture import Picture
from server.domain.words import ClockName, ClockState
from server.pages.episodes.clock_rows import clock_name
from server.pages.episodes.sentences import Speech
from server.pages.event_forms.words import SIGN_OF_SET
from server.pages.observations.trend import NONE, sign_heads, sign_texts
from server.pages.records.told import Told

CHECKS: Final = frozenset(
    {
        ClockName.BASELINE_CHECK,
        ClockName.FIRST_CHECK,
        ClockName.RUNNING_CHECK,
        ClockName.REACTION_CHECK,
        ClockName.END_CHECK,
    }
)

HYPHEN: Final = "\N{SOFT HYPHEN}"
BROKEN: Final = {
    "Temperature": f"Tempera{HYPHEN}ture",
    "Respirations": f"Respira{HYPHEN}tions",
    "Consciousness": f"Conscious{HYPHEN}ness",
}
"""Where long heads may be broken, so that a dozen columns stand side by side on a sheet."""


@dataclass(frozen=True, slots=True)
class SetRow:
    """One set. `signs` are cells under the heads, `meets` the checks that it met."""

    time: str
    signs: tuple[str, ...]
    meets: str
    who: str
    late: str


@dataclass(frozen=True, slots=True)
class SignsView:
    """The table. A sign that no set has stands in `notes`, and has no column.

    `notes` also say for sets without a score why there is none.
    """

    heads: tuple[str, ...]
    rows: tuple[SetRow, ...]
    notes: tuple[str, ...]


def signs_view(
    told: tuple[Told, ...], assessments: tuple[Assessment, ...], picture: Picture, speech: Speech
) -> SignsView:
    """Answer the sets; `assessments` hold one for each of `told`, found by its event."""
    says = {one.event_id: one for one in assessments}
    rows = [_row(one, says[one.event.id], picture, speech) for one in told]
    heads = sign_heads(speech)
    kept = [any(row.signs[place] != NONE for row in rows) for place in range(len(heads))]
    lacking = "; ".join(head for head, has in zip(heads, kept, strict=True) if not has)
    nowhere = (f"In no set: {lacking}.",) if rows and lacking else ()
    return SignsView(
        heads=tuple(_breakable(head) for head in compress(heads, kept)),
        rows=tuple(replace(row, signs=tuple(compress(row.signs, kept))) for row in rows),
        notes=(*nowhere, *_unscored(told, says)),
    )


def _breakable(head: str) -> str:
    word, *unit = head.split(", ")
    return ", ".join([BROKEN.get(word, word), *unit])


def _row(told: Told, assessment: Assessment, picture: Picture, speech: Speech) -> SetRow:
    observed = told.event.payload
    if not isinstance(observed, Observed):
        raise TypeError(f"{told.event.kind} is no observation")
    return SetRow(
        time=told.row.time,
        signs=sign_texts(observed, assessment, speech),
        meets=_meets(told, observed, picture),
        who=told.row.who,
        late=told.row.late,
    )


def _meets(told: Told, observed: Observed, picture: Picture) -> str:
    """Which checks a set met; a partial one meets none, and what it lacks is said."""
    missing = missing_signs(observed, picture.case.policy.observations_required)
    if missing:
        return f"none, without {', '.join(SIGN_OF_SET[sign] for sign in missing)}"
    met = [
        _met(clock, state)
        for clock, state in picture.clocks
        if clock.name in CHECKS and clock.met_at == told.event.happened_at
    ]
    return ", ".join(met) or NONE


def _met(clock: Clock, state: ClockState) -> str:
    return f"{clock_name(clock)}{', late' if state is ClockState.MET_LATE else ''}"


def _unscored(told: tuple[Told, ...], says: dict[str, Assessment]) -> Iterator[str]:
    """Each reason once, with the times of its sets."""
    times: dict[str, list[str]] = {}
    for one in told:
        scored = says[one.event.id].news2
        if isinstance(scored, NotCalculated):
            times.setdefault(scored.reason, []).append(one.row.time)
    for reason, sets in times.items():
        every = "" if len(sets) == len(told) else f" at {', '.join(sets)}"
        yield f"NEWS2 not calculated{every}: {reason}."
