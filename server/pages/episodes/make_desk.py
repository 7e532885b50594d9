"""What the forms and sentences about one unit are drawn with, from what is known of it."""

from collections.abc import Iterable
from zoneinfo import ZoneInfo

from server.domain.breaches import Breach
from server.domain.clock import OWED
from server.domain.giving_sets import sets_of
from server.domain.observations import FIELDS_OF_SIGN
from server.domain.picture import Picture
from server.domain.wording import CLOCK, clock_text, dated_time
from server.domain.words import ClockName, Kind
from server.pages.episodes.before import values_before
from server.pages.episodes.desk import Desk, Sent
from server.pages.episodes.rate_view import rate_to_start
from server.pages.episodes.sentences import Speech
from server.pages.event_forms.causing import breach_key, cause_options
from server.pages.event_forms.read import FAHRENHEIT
from server.pages.event_forms.words import SIGN_OF_SET
from server.pages.forms.fields import Options
from server.pages.forms.views import Surroundings
from server.pages.links import episode_href
from server.pages.visitors import Visitor
from server.services.read_episode import EpisodeRead
from server.store.staff import Staff


def speech_of(read: EpisodeRead, staff: tuple[Staff, ...]) -> Speech:
    """Answer what the sentences about a unit are made with."""
    return Speech(
        zone=ZoneInfo(read.ward.timezone),
        temperature_unit=read.ward.temperature_unit,
        names={one.id: one.name for one in staff} | dict(read.names),
        now=read.at,
    )


def make_desk(
    read: EpisodeRead,
    staff: tuple[Staff, ...],
    visitor: Visitor,
    speech: Speech,
    sent: Sent | None,
) -> Desk:
    """Answer what all forms of the page share; `sent` is a form that was refused."""
    fahrenheit = {"temperature_c": "°F"} if speech.temperature_unit == FAHRENHEIT else {}
    return Desk(
        actor=visitor.actor,
        ward_id=read.ward.id,
        href=f"{episode_href(read.picture.case.request.id)}/events",
        press_href=f"{episode_href(read.picture.case.request.id)}/press",
        csrf_token=visitor.csrf_token,
        revision=revision_of(read),
        now=read.at,
        around=Surroundings(
            zone=speech.zone,
            lists=lists_of(read.picture, staff),
            before=values_before(read.picture, speech),
            units=fahrenheit,
            holds=_holds(read),
            needed=_needed(read.picture),
        ),
        sent=sent,
        defaults=_defaults(read, visitor.actor.staff_id or ""),
        notes={Kind.OBSERVED: _full_set(read.picture)},
    )


def revision_of(read: EpisodeRead) -> int:
    """Answer the revision of a unit: the place in the log of its last event."""
    return max((event.position for event in read.events), default=0)


def lists_of(picture: Picture, staff: Iterable[Staff]) -> dict[str, Options]:
    """Answer the lists that forms choose from: staff, owed clocks, breaches."""
    owed = dict.fromkeys(
        clock.name
        for clock, state in picture.clocks
        if state in OWED and clock.name is not ClockName.LATE_WATCH
    )
    return {
        "staff": tuple((one.id, one.name) for one in staff if one.active),
        "clocks": tuple((name.value, CLOCK[name]) for name in owed),
        "giving_sets": tuple((str(one), f"{one} drops/mL") for one in sets_of(picture.case.policy)),
        "outcomes": tuple((text, text) for text in picture.case.policy.reaction_outcomes),
        "causes": cause_options(picture.case.policy.breach_causes),
        "breaches": tuple(_breach_option(one, picture) for one in picture.breaches),
    }


def _breach_option(breach: Breach, picture: Picture) -> tuple[str, str]:
    """A limit as the form of causes names it: when it was, and what is known of its cause."""
    name = clock_text(breach.clock, breach.n)
    limit = dated_time(breach.limit_at, picture.case.zone, picture.standing.now)
    known = "" if breach.cause is None else f", so far: {breach.cause}"
    return breach_key(breach.clock, breach.n), f"{name}, limit {limit}{known}"


def _defaults(read: EpisodeRead, me: str) -> dict[Kind, dict[str, str]]:
    """What stands in a form before anybody types; a start against a refusal says its own rate."""
    start = {} if read.gaps else {Kind.STARTED: {"rate_ml_h": rate_to_start(read.picture)}}
    unexplained = [one for one in read.picture.breaches if one.cause is None]
    alone = unexplained[0] if len(unexplained) == 1 else None
    ticked = {} if alone is None else {"clock": breach_key(alone.clock, alone.n)}
    return {
        Kind.ACKNOWLEDGED: {"staff_id": me},
        Kind.ASSIGNED: {"nurse_id": read.picture.episode.nurse_id or me},
        Kind.CAUSE_GIVEN: ticked,
        **start,
    }


def _holds(read: EpisodeRead) -> frozenset[str]:
    """What the fields that are only sometimes asked for depend on."""
    missing = {"missing"} if read.gaps else set()
    reaction = set() if read.picture.episode.reaction is None else {"reaction"}
    return frozenset(missing | reaction)


def _needed(picture: Picture) -> frozenset[str]:
    """The fields of the signs that a full set has."""
    policy = picture.case.policy
    signs = {name for sign in policy.observations_required for name in FIELDS_OF_SIGN[sign]}
    return frozenset(signs)


def _full_set(picture: Picture) -> str:
    listed = ", ".join(SIGN_OF_SET[sign] for sign in picture.case.policy.observations_required)
    return f"A full set: {listed}. A partial set is kept, and meets no check."
