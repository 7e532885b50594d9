"""Refusals, as a form shows them: why, beside which field, and with which HTTP status."""

from functools import singledispatch
from typing import Final

from server.domain.errors import Invalid, Refused
from server.domain.wording import PHASE
from server.pages.forms.entry import Wrong
from server.pages.visitors import FormNotOurs
from server.services.errors import Conflict, Forbidden, StaleRevision
from server.store.errors import Away, Clash

FORM: Final = "form"
NOT_OURS: Final = (
    "Nothing was recorded: you have signed in again since this form was opened. "
    "Look at it once more and send it again."
)
OVERTAKEN: Final = (
    "Somebody recorded something on this unit meanwhile. Nothing was recorded; what you typed is "
    "kept. Look at what has changed and record it again."
)
REFUSALS: Final = (
    Wrong,
    Invalid,
    Refused,
    StaleRevision,
    Conflict,
    Forbidden,
    Clash,
    FormNotOurs,
    Away,
)
AWAY: Final = "The database is away. Nothing was recorded; what you typed is kept."
CLASH: Final = "It clashes with what is already recorded."


@singledispatch
def wrong_of(refusal: Exception) -> Wrong:
    """Answer a refusal as what is shown beside the fields."""
    raise refusal


@wrong_of.register
def _(refusal: Wrong) -> Wrong:
    return refusal


@wrong_of.register
def _(refusal: Invalid) -> Wrong:
    return Wrong({refusal.field: refusal.message})


@wrong_of.register
def _(refusal: Refused) -> Wrong:
    field = FORM if refusal.field == "kind" else refusal.field
    return Wrong({field: refusal.reason}, status=409, phase=PHASE[refusal.phase])


@wrong_of.register
def _(_refusal: StaleRevision) -> Wrong:
    return Wrong({FORM: OVERTAKEN}, status=409)


@wrong_of.register
def _(refusal: Conflict) -> Wrong:
    return Wrong({FORM: refusal.why}, status=409)


@wrong_of.register
def _(_refusal: Clash) -> Wrong:
    return Wrong({FORM: CLASH}, status=409)


@wrong_of.register
def _(refusal: Forbidden) -> Wrong:
    return Wrong({FORM: f"You may not do this: {refusal.why}."}, status=403)


@wrong_of.register
def _(_refusal: FormNotOurs) -> Wrong:
    return Wrong({FORM: NOT_OURS}, status=403)


@wrong_of.register
def _(_refusal: Away) -> Wrong:
    return Wrong({FORM: AWAY}, status=503)
