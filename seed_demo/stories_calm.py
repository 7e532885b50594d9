"""Units that run as they should, wait their turn, or are done with."""

from seed_demo.told import (
    LAB,
    Act,
    Nurse,
    Story,
    TakenBack,
    agreed,
    begun,
    called,
    charted_late,
    labelled,
)
from server.domain.payloads import (
    Available,
    Cancelled,
    CauseGiven,
    Completed,
    Discarded,
    FateRecorded,
    Flushed,
    Inspected,
    Paused,
    RateSet,
    Received,
    Returned,
    SetHung,
    Spiked,
    Started,
)
from server.domain.words import ClockName, Component, Fate, Priority

EK, DUNMORE, VANDERMOLEN, HALE, BRANDAO, MARLOW = (
    Nurse(key) for key in ("ek", "dunmore", "vandermolen", "hale", "brandao", "marlow")
)


def child() -> Story:
    """A child of four: the ceiling comes from her weight."""
    acts = (
        *begun("hale", "marlow", removed=-78, started=-50, rate=30),
        *HALE.took(-36),
        *HALE.did(-35, RateSet(70)),
    )
    return Story("child", "p16", "16", Component.RED_CELLS, 150, -160, (acts,))


def started_against_a_refusal() -> Story:
    """Major bleeding: started with one checker, and says why."""
    at = BRANDAO
    reason = "major bleeding, second checker with the patient; unit read aloud on the telephone"
    acts = (
        *called("brandao", removed=-47, issued=-45, ready=-55),
        *at.did(-41, Received()),
        *at.did(-40, Inspected(), SetHung()),
        *at.took(-38),
        *at.did(-36, agreed("brandao", None)),
        *at.did(-35, Spiked()),
        *at.did(-34, Started(300, "right forearm", override_reason=reason)),
        *at.took(-19),
    )
    return Story("override", "p08", "8", Component.PLASMA, 270, -62, (acts,), Priority.EMERGENCY)


def charted_after_the_fact() -> Story:
    """Granulocytes whose first check was taken in time and charted half an hour later."""
    acts = (
        *begun("vandermolen", "hale", removed=-100, started=-73, rate=50),
        *charted_late(VANDERMOLEN.took(-58), -30),
        *VANDERMOLEN.did(-57, RateSet(80)),
        *VANDERMOLEN.took(-20),
    )
    return Story(
        "granulocytes",
        "p03",
        "3",
        Component.GRANULOCYTES,
        240,
        -210,
        (acts,),
        requirements=("irradiated",),
    )


def paused_with_a_slip() -> Story:
    """Paused for a new cannula. Earlier a rate was typed ten times too high, and taken back."""
    at = DUNMORE
    acts = (
        *begun("dunmore", "brandao", removed=-92, started=-64, rate=50),
        *at.took(-49),
        *labelled(at.did(-48, RateSet(1250)), "slip"),
        Act(-47, at.key, TakenBack("slip", "typed 1250, meant 125")),
        *at.did(-47, RateSet(125)),
        *at.took(-20),
        *at.did(-9, Paused("cannula being replaced")),
    )
    return Story("paused", "p05", "5", Component.RED_CELLS, 285, -180, (acts,))


def ended_and_watched() -> Story:
    """Platelets that are in; the first check came late, and the cause is on record."""
    acts = (
        *begun("ek", "dunmore", removed=-123, started=-95, rate=60),
        *EK.took(-71),
        *EK.did(-70, RateSet(400)),
        *EK.did(-66, CauseGiven(ClockName.FIRST_CHECK, "called to another bed")),
        *EK.did(-31, Completed(300)),
        *EK.did(-29, Flushed(5)),
        *EK.took(-20),
    )
    return Story("ended", "p13", "13", Component.PLATELETS, 300, -190, (acts,))


def waiting() -> tuple[Story, ...]:
    """What has been asked for and is not yet here."""
    ready = (Act(-9, LAB, Available()),)
    return (
        Story(
            "platelets-wanted",
            "p18",
            "18",
            Component.PLATELETS,
            305,
            -20,
            ((),),
            Priority.URGENT,
            wanted=45,
            requirements=("irradiated",),
        ),
        Story(
            "before-theatre",
            "p20",
            "20",
            Component.PLASMA,
            260,
            -35,
            (ready,),
            not_before=60,
            wanted=100,
            duration_minutes=60,
        ),
    )


def gone_back() -> Story:
    """Fever before the start: the unit went back to stock in time."""
    acts = (
        *called("hale", removed=-67, issued=-64),
        *HALE.did(-58, Received()),
        *HALE.did(-56, Inspected()),
        *HALE.did(-47, Returned("38.4 °C before the start; the doctor wants to wait")),
    )
    return Story("returned", "p19", "19", Component.RED_CELLS, 280, -130, (acts,))


def ended_without_a_check() -> Story:
    """Plasma that ran in before anybody took the first set: missed for good."""
    at = VANDERMOLEN
    acts = (
        *begun("vandermolen", "brandao", removed=-182, started=-155, rate=60),
        *at.did(-139, RateSet(480)),
        *at.did(-109, Completed(255)),
        *at.did(-108, Flushed(5)),
        *at.took(-99),
        *at.did(-72, FateRecorded(Fate.TRANSFUSED)),
        *at.did(-70, CauseGiven(ClockName.FIRST_CHECK, "two starts at once")),
    )
    return Story("missed", "p17", "17", Component.PLASMA, 255, -230, (acts,))


def thrown_away() -> Story:
    """A unit that could neither be given nor go back."""
    acts = (
        *called("dunmore", removed=-193, issued=-190),
        *DUNMORE.did(-184, Received()),
        *DUNMORE.did(-141, Discarded("patient declined after more than 30 min out of storage")),
    )
    return Story("discarded", "p20", "20", Component.RED_CELLS, 280, -250, (acts,))


def withdrawn() -> Story:
    """An order that was withdrawn before anything was handed over."""
    acts = (Act(-65, "marlow", Cancelled("haemoglobin came back above the threshold")),)
    return Story("cancelled", "p18", "18", Component.RED_CELLS, 280, -120, (acts,))


def calm_stories() -> tuple[Story, ...]:
    """All of them."""
    return (
        child(),
        started_against_a_refusal(),
        charted_after_the_fact(),
        paused_with_a_slip(),
        ended_and_watched(),
        *waiting(),
        gone_back(),
        ended_without_a_check(),
        thrown_away(),
        withdrawn(),
    )
