"""The choices that event forms offer, in words."""

from typing import Final

from server.domain import attributes, reaction
from server.domain.compatibility import group_words
from server.domain.words import BloodGroup, Confirmation, Consciousness, Fate, Recheck
from server.pages.forms.fields import Options

ATTRIBUTES: Final[Options] = tuple(
    (one.value, words)
    for one, words in attributes.WORDS.items()
    if one not in attributes.STOPS or one is attributes.Attribute.ASK_LABORATORY
)
"""What may be said of a bag that is issued: of what stops one, only that the laboratory judges."""
BLOOD_GROUPS: Final[Options] = tuple((group.value, group_words(group)) for group in BloodGroup)
FINDINGS: Final[Options] = (
    ("leak", "leak"),
    ("clots", "clots or clumps"),
    ("discoloured", "discoloured"),
    ("damaged", "damaged or label unreadable"),
)
ITEMS: Final[Options] = (
    ("name", "Name"),
    ("date_of_birth", "Date of birth"),
    ("record_number", "Record number"),
    ("blood_group", "Blood group"),
    ("expiry", "Expiry"),
    ("unit_number", "Unit number"),
)
CONFIRMATIONS: Final[Options] = (
    (Confirmation.ORDER_CONSENT, "order and consent"),
    (Confirmation.GROUP_SAMPLE, "group and sample valid"),
    (Confirmation.ACCESS, "line and access checked"),
    (Confirmation.COLLECTED, "collected, on its way"),
    (Confirmation.RATE_REVIEWED, "rate reviewed"),
    (Confirmation.REASSESSED, "reassessed after the unit"),
)
CONSCIOUSNESS: Final[Options] = (
    (Consciousness.ALERT, "alert"),
    (Consciousness.NEW_CONFUSION, "new confusion"),
    (Consciousness.VOICE, "responds to voice"),
    (Consciousness.PAIN, "responds to pain"),
    (Consciousness.UNRESPONSIVE, "unresponsive"),
)
GAS: Final[Options] = (("false", "on air"), ("true", "on oxygen"))
SYMPTOMS: Final[Options] = tuple(reaction.SYMPTOMS.items())
REACTION_STEPS: Final[Options] = tuple((step.slug, step.words) for step in reaction.STEPS)
RECHECKS: Final[Options] = (
    (Recheck.AGREES, "everything agrees"),
    (Recheck.WRONG, "wrong unit or patient"),
)
STOP_REASONS: Final[Options] = (
    ("suspected reaction", "suspected reaction"),
    ("finish limit reached", "finish limit reached"),
    ("lost venous access", "lost venous access"),
    ("clinician's decision", "clinician’s decision"),
    ("patient declined", "patient declined"),
    ("fault of the bag or the set", "fault of the bag or the set"),
    ("other", "other"),
)
FATES: Final[Options] = (
    (Fate.TRANSFUSED, "transfused"),
    (Fate.PART_TRANSFUSED, "part transfused"),
    (Fate.RETURNED, "returned to the blood bank"),
    (Fate.DISCARDED, "discarded"),
)
SIGN_OF_SET: Final = {
    "temperature": "temperature",
    "pulse": "pulse",
    "respirations": "respirations",
    "blood_pressure": "blood pressure",
    "spo2": "SpO₂",
    "consciousness": "consciousness",
}
"""The signs that a policy may want in a full set."""
