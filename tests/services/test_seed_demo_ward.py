"""The demonstration's ward at the instant it opens: everything a ward can show is on it."""

from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path

import pytest

from seed_demo.actors.scene import IN_HAND
from seed_demo.staff import EVERYBODY, PASSWORD
from seed_demo.tell import episode_id
from seed_demo.vital_signs import Body
from server.domain.clock import Clock
from server.domain.payloads import IdentityChecked, RateSet, Voided
from server.domain.picture import Picture
from server.domain.words import ClockName, ClockState, Component, Level, Phase, Role
from server.services.list_reminders import list_reminders
from server.services.sign_in import check_password
from server.store.store import Store
from tests.services.demo_ward import (
    CHARGE,
    MINUTE,
    START,
    board_of,
    facts_of,
    opened,
    pictures_of,
    tell_to,
)


@pytest.fixture(scope="module")
def told(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Store]:
    """The ward, told; nobody here changes it."""
    with opened(tell_to(tmp_path_factory.mktemp("demo") / "told.db")) as store:
        yield store


@pytest.fixture(scope="module")
def units(told: Store) -> dict[str, Picture]:
    """Its units by the key of their story."""
    return pictures_of(told)


def test_each_level_has_its_rows(units: dict[str, Picture]) -> None:
    levels = {
        level: {key for key, one in units.items() if one.urgency.level is level} for level in Level
    }

    assert levels == {
        Level.REACTION: {"reaction"},
        Level.PAST_LIMIT: {"whole-blood"},
        Level.OVERDUE: {"unassigned", "acknowledged", "first-check"},
        Level.AT_RISK: {"at-risk"},
        Level.DUE: {"platelets-after", "plasma", "cryo"},
        Level.SOON: {"two-units", "identity"},
        Level.STEADY: {"child", "ended", "granulocytes", "paused", "override"},
        Level.WAITING: {"cryo/2", "platelets-wanted", "two-units/2", "before-theatre"},
        Level.CLOSED: {"discarded", "missed", "cancelled", "returned", "red-before"},
    }


def test_at_least_fourteen_units_are_out_and_not_accounted_for(units: dict[str, Picture]) -> None:
    live = [key for key, one in units.items() if one.episode.phase in IN_HAND | {Phase.ENDED}]

    assert len(live) == 16


def test_every_component_is_out(units: dict[str, Picture]) -> None:
    out = {one.case.request.component for one in units.values() if one.episode.phase in IN_HAND}

    assert out == set(Component)


def test_every_state_of_a_clock_is_on_the_board(units: dict[str, Picture]) -> None:
    states = {state for one in units.values() for _, state in one.clocks}

    assert states == set(ClockState)


def test_every_clock_is_on_the_board(units: dict[str, Picture]) -> None:
    names = {clock.name for one in units.values() for clock, _ in one.clocks}

    assert names == set(ClockName)


def test_nobody_has_more_than_three_units_in_hand(units: dict[str, Picture]) -> None:
    nurses = [one.episode.nurse_id for one in units.values() if one.episode.phase in IN_HAND]

    load = {nurse: nurses.count(nurse) for nurse in nurses}

    assert load == {"ek": 2, "dunmore": 3, "vandermolen": 2, "hale": 3, "brandao": 3, None: 1}


def test_the_reaction_is_stopped_and_being_worked_through(units: dict[str, Picture]) -> None:
    episode = units["reaction"].episode

    reaction = episode.reaction
    assert reaction is not None
    assert (episode.phase, episode.stopped_reason, reaction.symptoms) == (
        Phase.ENDED,
        "suspected reaction",
        ("rigors", "fever"),
    )
    assert [tick.step for tick in reaction.ticked] == [
        "stop",
        "saline_new_set",
        "abc_and_call",
        "tell_clinician",
        "recheck_identity",
    ]


def test_one_unit_is_past_its_finish_limit_and_running(units: dict[str, Picture]) -> None:
    unit = units["whole-blood"]

    assert (unit.episode.phase, unit.standing.finish_limit_at) == (
        Phase.RUNNING,
        START - 11 * MINUTE,
    )


def test_one_unit_may_no_longer_go_back_and_is_nobodys(units: dict[str, Picture]) -> None:
    unit = units["unassigned"]

    assert unit.episode.nurse_id is None
    assert [advice.code for advice in unit.advices] == ["return_window_passed"]


def test_one_unit_is_projected_past_its_limit_for_somebody_at_risk_of_overload(
    units: dict[str, Picture],
) -> None:
    unit = units["at-risk"]

    assert unit.case.patient.overload_risks == ("heart failure", "over 70 years")
    assert unit.infusion.permitted_rate_ml_h == 100
    assert unit.infusion.cannot_finish is False
    assert unit.infusion.spare_minutes == -37.5


def test_the_childs_ceiling_comes_from_her_weight(units: dict[str, Picture]) -> None:
    unit = units["child"]

    assert (unit.case.patient.weight_kg, unit.infusion.permitted_rate_ml_h) == (15.4, 77)
    assert unit.standing.rate_rule == "rate.max_ml_kg_h"


def test_platelets_after_red_cells_owe_a_new_set(units: dict[str, Picture]) -> None:
    unit = units["platelets-after"]

    assert [(clock.n, state) for clock, state in _clocks(unit, ClockName.SET_CHANGE)] == [
        (1, ClockState.DUE)
    ]


def test_a_mismatch_is_followed_by_a_good_check(units: dict[str, Picture]) -> None:
    checks = [
        event.payload.mismatches
        for event in units["identity"].case.events
        if isinstance(event.payload, IdentityChecked)
    ]

    assert checks == [("record number",), ()]


def test_a_slip_was_taken_back_and_stays_visible(units: dict[str, Picture]) -> None:
    events = units["paused"].case.events

    rates = {event.id: event.payload for event in events if isinstance(event.payload, RateSet)}
    voids = [event.payload for event in events if isinstance(event.payload, Voided)]

    assert [rates[void.event_id].rate_ml_h for void in voids] == [1250]
    assert units["paused"].episode.phase is Phase.PAUSED


def test_one_set_was_charted_late_and_everything_else_at_once(told: Store) -> None:
    late = [
        (logged.event.episode_id, (logged.event.recorded_at - logged.event.happened_at) / MINUTE)
        for logged in facts_of(told)
        if logged.event.recorded_at != logged.event.happened_at
    ]

    assert late == [(episode_id("granulocytes"), 28)]


def test_an_override_says_why(units: dict[str, Picture]) -> None:
    reason = units["override"].episode.override_reason

    assert reason is not None
    assert reason.startswith("major bleeding")


def test_an_overdue_check_is_acknowledged_and_stays_overdue(units: dict[str, Picture]) -> None:
    unit = units["acknowledged"]

    assert [(given.clock, given.staff_id) for given in unit.episode.acknowledgements] == [
        (ClockName.RUNNING_CHECK, "marlow")
    ]
    assert (ClockName.RUNNING_CHECK, ClockState.OVERDUE) in [
        (clock.name, state) for clock, state in unit.clocks
    ]


def test_reminders_were_raised_while_the_day_was_told(told: Store) -> None:
    with told.read() as session:
        raised = list_reminders(session, CHARGE, "lantern")

    assert {row.raised_at <= START for row in raised} == {True}
    assert len({row.episode_id for row in raised}) > 5


def test_nothing_on_the_ward_lies_ahead_of_its_opening(told: Store) -> None:
    instants = [logged.event.recorded_at for logged in facts_of(told)]

    assert instants == sorted(instants)
    assert START - timedelta(hours=6) < instants[0] < instants[-1] <= START


def test_each_kind_of_user_can_sign_in(told: Store) -> None:
    with told.read() as session:
        signed_in = [
            check_password(session, person.sign_in_name or "", PASSWORD)
            for person in EVERYBODY
            if person.sign_in_name
        ]

    assert {staff.role for staff in signed_in if staff is not None} == set(Role) - {Role.INTERFACE}
    assert None not in signed_in


def test_the_same_seed_gives_the_same_facts_to_the_last_id(told: Store, tmp_path: Path) -> None:
    with opened(tell_to(tmp_path / "again.db")) as again:
        assert facts_of(again) == facts_of(told)
        assert _rows(again) == _rows(told)


def test_another_seed_gives_other_signs() -> None:
    one, same, other = (Body(seed, "p01").set_at(-20) for seed in (1, 1, 2))

    assert one == same
    assert one != other


def _clocks(unit: Picture, name: ClockName) -> list[tuple[Clock, ClockState]]:
    return [(clock, state) for clock, state in unit.clocks if clock.name is name]


def _rows(store: Store) -> list[object]:
    return [(row.picture, row.nurse_name) for row in board_of(store).rows]
