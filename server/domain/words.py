"""The words of the trade, spelt once: the same in code, database, screen, log and JSON."""

from enum import StrEnum


class Component(StrEnum):
    """A blood component that is given on a ward."""

    RED_CELLS = "red_cells"
    PLATELETS = "platelets"
    PLASMA = "plasma"
    CRYOPRECIPITATE = "cryoprecipitate"
    GRANULOCYTES = "granulocytes"
    WHOLE_BLOOD = "whole_blood"


class Kind(StrEnum):
    """The kind of an event: what happened to a unit, or to its patient, in the past tense."""

    AVAILABLE = "available"
    ISSUED = "issued"
    RECEIVED = "received"
    INSPECTED = "inspected"
    IDENTITY_CHECKED = "identity_checked"
    OBSERVED = "observed"
    CONFIRMED = "confirmed"
    SPIKED = "spiked"
    SET_HUNG = "set_hung"
    SET_CHANGED = "set_changed"
    FLUSHED = "flushed"
    STARTED = "started"
    RATE_SET = "rate_set"
    VOLUME_READ = "volume_read"
    PAUSED = "paused"
    RESUMED = "resumed"
    REACTION_SUSPECTED = "reaction_suspected"
    REACTION_STEP = "reaction_step"
    REACTION_CLOSED = "reaction_closed"
    WARNED = "warned"
    WARNING_CHECKED = "warning_checked"
    STOPPED = "stopped"
    COMPLETED = "completed"
    RETURNED = "returned"
    DISCARDED = "discarded"
    CANCELLED = "cancelled"
    FATE = "fate"
    ASSIGNED = "assigned"
    ACKNOWLEDGED = "acknowledged"
    NOTE = "note"
    CAUSE_GIVEN = "cause_given"
    VOIDED = "voided"


class Confirmation(StrEnum):
    """A step of the pathway that a person confirms and that records nothing else."""

    ACCESS = "access"
    ORDER_CONSENT = "order_consent"
    GROUP_SAMPLE = "group_sample"
    COLLECTED = "collected"
    RATE_REVIEWED = "rate_reviewed"
    REASSESSED = "reassessed"


class Phase(StrEnum):
    """Where an episode stands between request and final fate."""

    REQUESTED = "requested"
    AVAILABLE = "available"
    ISSUED = "issued"
    RUNNING = "running"
    PAUSED = "paused"
    ENDED = "ended"
    CLOSED = "closed"
    RETURNED = "returned"
    DISCARDED = "discarded"
    CANCELLED = "cancelled"


class ClockName(StrEnum):
    """A time limit or check that an episode owes."""

    START = "start"
    RETURN = "return"
    FINISH = "finish"
    BASELINE_CHECK = "baseline_check"
    FIRST_CHECK = "first_check"
    RUNNING_CHECK = "running_check"
    REACTION_CHECK = "reaction_check"
    END_CHECK = "end_check"
    SET_CHANGE = "set_change"
    LATE_WATCH = "late_watch"
    FATE = "fate"


class ClockState(StrEnum):
    """How a clock stands at an instant."""

    PENDING = "pending"
    OPEN = "open"
    DUE = "due"
    OVERDUE = "overdue"
    MET = "met"
    MET_LATE = "met_late"
    MISSED = "missed"
    LAPSED = "lapsed"


class Level(StrEnum):
    """Urgency of a row, first to last."""

    REACTION = "reaction"
    PAST_LIMIT = "past_limit"
    OVERDUE = "overdue"
    AT_RISK = "at_risk"
    DUE = "due"
    SOON = "soon"
    STEADY = "steady"
    WAITING = "waiting"
    CLOSED = "closed"


class Stage(StrEnum):
    """A stage of the reminders of one clock."""

    NOTICE = "notice"
    DUE = "due"
    OVERDUE = "overdue"
    ESCALATE = "escalate"
    SECOND_ESCALATE = "second_escalate"


class Recipient(StrEnum):
    """Whom a stage of the reminders goes to."""

    UNIT_NURSE = "unit_nurse"
    CHARGE_NURSE = "charge_nurse"
    MANAGER = "manager"
    NEXT_CONTACT = "next_contact"


class Priority(StrEnum):
    """How urgently a prescriber wants a unit given."""

    EMERGENCY = "emergency"
    URGENT = "urgent"
    ROUTINE = "routine"


class Fate(StrEnum):
    """The final fate of a unit."""

    TRANSFUSED = "transfused"
    PART_TRANSFUSED = "part_transfused"
    RETURNED = "returned"
    DISCARDED = "discarded"


class Consciousness(StrEnum):
    """Level of consciousness as observed."""

    ALERT = "alert"
    NEW_CONFUSION = "new_confusion"
    VOICE = "voice"
    PAIN = "pain"
    UNRESPONSIVE = "unresponsive"


class Recheck(StrEnum):
    """What checking identity again found while a reaction is suspected."""

    AGREES = "agrees"
    WRONG = "wrong_unit_or_patient"


class BloodGroup(StrEnum):
    """ABO and RhD group."""

    A_POS = "A+"
    A_NEG = "A-"
    B_POS = "B+"
    B_NEG = "B-"
    AB_POS = "AB+"
    AB_NEG = "AB-"
    O_POS = "O+"
    O_NEG = "O-"


class Role(StrEnum):
    """What a person or a program may do."""

    BEDSIDE_NURSE = "bedside_nurse"
    CHARGE_NURSE = "charge_nurse"
    MANAGER = "manager"
    ADMINISTRATOR = "administrator"
    INTERFACE = "interface"
