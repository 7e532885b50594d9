"""Units that want somebody now: a suspected reaction, limits that passed, checks that are due."""

from seed_demo.told import (
    LAB,
    Act,
    Nurse,
    Signs,
    Story,
    agreed,
    begun,
    called,
    readied,
)
from server.domain.payloads import (
    Acknowledged,
    Available,
    Completed,
    FateRecorded,
    Flushed,
    Note,
    RateSet,
    ReactionStep,
    ReactionSuspected,
    Received,
    Stopped,
    VolumeRead,
)
from server.domain.words import ClockName, Component, Fate, Priority, Recheck

EK, DUNMORE, VANDERMOLEN, HALE, BRANDAO, MARLOW = (
    Nurse(key) for key in ("ek", "dunmore", "vandermolen", "hale", "brandao", "marlow")
)


def suspected_reaction() -> Story:
    """Rigors three quarters of an hour into a unit: stopped, and the steps under way."""
    at = VANDERMOLEN
    acts = (
        *begun("vandermolen", "hale", removed=-88, started=-60, rate=50),
        *at.took(-45),
        *at.did(-44, RateSet(140)),
        *at.did(-7, Signs(temperature_c=38.9, pulse_per_min=124, symptoms=("rigors",))),
        *at.did(-6, ReactionSuspected(("rigors", "fever"))),
        *at.did(-6, Stopped("suspected reaction", given_ml=100)),
        *at.did(-5, ReactionStep("stop"), ReactionStep("saline_new_set")),
        *at.did(-4, ReactionStep("abc_and_call"), ReactionStep("tell_clinician")),
        *at.did(-2, ReactionStep("recheck_identity", Recheck.AGREES)),
    )
    return Story("reaction", "p04", "4", Component.RED_CELLS, 285, -150, (acts,))


def past_the_finish_limit() -> Story:
    """Whole blood that is still running after its four hours; its nurse is at lunch."""
    acts = (
        *begun("ek", "dunmore", removed=-251, started=-222, rate=55),
        *EK.took(-207, -148, -92, -36),
        *EK.did(-206, RateSet(120)),
        *EK.did(-91, VolumeRead(240)),
    )
    return Story("whole-blood", "p09", "9", Component.WHOLE_BLOOD, 470, -330, (acts,))


def first_check_missed_at_lunch() -> Story:
    """Started just before lunch; the check after a quarter of an hour is overdue."""
    acts = begun("dunmore", "ek", removed=-55, started=-27, rate=50)
    return Story("first-check", "p02", "2", Component.RED_CELLS, 270, -140, (acts,))


def running_check_acknowledged() -> Story:
    """The hourly set is overdue; the charge nurse has said that she has it."""
    acts = (
        *begun("ek", "dunmore", removed=-131, started=-103, rate=55),
        *EK.took(-87),
        *EK.did(-86, RateSet(125)),
        *MARLOW.did(-8, Acknowledged(ClockName.RUNNING_CHECK, "marlow")),
    )
    return Story("acknowledged", "p07", "7", Component.RED_CELLS, 290, -200, (acts,))


def out_of_storage_and_nobodys() -> Story:
    """A unit that came up without anybody to give it, and may no longer go back to stock."""
    handed = called("hale", removed=-43, issued=-38)
    acts = (
        *(act for act in handed if act.by == LAB),
        *MARLOW.did(-25, Received(), Note("Came up while everybody was at a bedside.")),
    )
    return Story("unassigned", "p12", "12", Component.RED_CELLS, 280, -170, (acts,))


def too_slow_for_a_weak_heart() -> Story:
    """Slowed down for a short breath, it ends after its limit; the ceiling is low."""
    acts = (
        *begun("hale", "brandao", removed=-135, started=-107, rate=50),
        *HALE.took(-91, -33),
        *HALE.did(-91, RateSet(90)),
        *HALE.did(-32, VolumeRead(100)),
        *HALE.did(-31, RateSet(60), Note("A little short of breath lying flat; sat up, slower.")),
    )
    return Story("at-risk", "p11", "11", Component.RED_CELLS, 275, -220, (acts,))


def red_cells_then_platelets() -> tuple[Story, Story]:
    """Red cells are in; the platelets that came up after them need a set of their own."""
    at = BRANDAO
    red = (
        *begun("brandao", "hale", removed=-208, started=-180, rate=60),
        *at.took(-165, -107, -51),
        *at.did(-164, RateSet(150)),
        *at.did(-60, Completed(280)),
        *at.did(-58, Flushed(5)),
        *at.did(-31, FateRecorded(Fate.TRANSFUSED)),
    )
    platelets = (*called("brandao", removed=-9, issued=-9), *at.did(-4, Received()))
    return (
        Story("red-before", "p06", "6", Component.RED_CELLS, 280, -260, (red,)),
        Story("platelets-after", "p06", "6", Component.PLATELETS, 310, -90, (platelets,)),
    )


def first_check_due() -> Story:
    """Cryoprecipitate, two pools in turn: the first is at its first check, the second is ready."""
    first = begun("brandao", "vandermolen", removed=-44, started=-17, rate=60)
    second = (Act(-15, "blood-bank", Available()),)
    return Story(
        "cryo", "p15", "15", Component.CRYOPRECIPITATE, 190, -75, (first, second), Priority.URGENT
    )


def running_check_due() -> Story:
    """Plasma whose hourly set is due."""
    acts = (
        *begun("vandermolen", "brandao", removed=-108, started=-81, rate=60),
        *VANDERMOLEN.took(-64),
        *VANDERMOLEN.did(-63, RateSet(160)),
    )
    return Story("plasma", "p01", "1", Component.PLASMA, 265, -150, (acts,))


def start_due_soon() -> Story:
    """An identity check found another record number; the second, with a new band, is good."""
    ready = readied("hale", "vandermolen", received=-18, baseline=-6, checked=-3)
    acts = (
        *called("hale", removed=-23, issued=-23),
        *ready,
        *HALE.did(-11, agreed("hale", "vandermolen", wrong="record number")),
        *HALE.did(-10, Note("Band of an earlier stay was still on. New band printed and read.")),
    )
    return Story("identity", "p10", "10", Component.RED_CELLS, 275, -120, (acts,))


def running_check_soon() -> Story:
    """The first of two units in turn; its hourly set falls due in a few minutes."""
    first = (
        *begun("dunmore", "ek", removed=-97, started=-69, rate=50),
        *DUNMORE.took(-54),
        *DUNMORE.did(-53, RateSet(130)),
    )
    second = (Act(-12, "blood-bank", Available()),)
    return Story(
        "two-units", "p14", "14", Component.RED_CELLS, 280, -160, (first, second), wanted=90
    )


def urgent_stories() -> tuple[Story, ...]:
    """All of them."""
    return (
        suspected_reaction(),
        past_the_finish_limit(),
        first_check_missed_at_lunch(),
        running_check_acknowledged(),
        out_of_storage_and_nobodys(),
        too_slow_for_a_weak_heart(),
        *red_cells_then_platelets(),
        first_check_due(),
        running_check_due(),
        start_due_soon(),
        running_check_soon(),
    )
