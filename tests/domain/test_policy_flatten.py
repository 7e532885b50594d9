"""A flattened policy stands alone and reads back as it was."""

import math
import tomllib
from itertools import cycle
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from server.domain.policy import Policy, PolicyError, PolicyValue, flatten, parse_policy
from server.domain.policy.build import build_policy
from server.domain.policy.keys import KEYS, places
from server.domain.policy.pathway_checks import ALWAYS
from server.domain.policy.value_types import (
    Choice,
    Digits,
    Number,
    Phrases,
    ValueType,
    Whole,
    Word,
    YesNo,
)
from server.policies import load_policies

POLICIES = load_policies()

# Whatever a file can hold: no half of a surrogate pair; blanks around a text are cut on reading.
TEXTS = st.text(st.characters(exclude_categories=["Cs"])).map(str.strip)
WORDS = TEXTS.filter(bool)
WARD_TIMES = st.times().map(lambda time: f"{time:%H:%M}")


def plain_values(kind: ValueType) -> st.SearchStrategy[Any]:
    drawn: st.SearchStrategy[Any] = WARD_TIMES
    match kind:
        case Whole(low=low, high=high):
            drawn = st.integers(low, high)
        case Number(low=low, high=high):
            drawn = st.floats(low, high)
        case YesNo():
            drawn = st.booleans()
        case Choice(allowed=allowed, least=least):
            drawn = st.lists(st.sampled_from(allowed), min_size=least, unique=True).map(tuple)
        case Word(words=words):
            drawn = st.sampled_from([word.value for word in words])
        case Digits(low=low, high=high):
            drawn = st.from_regex(rf"([0-9]{{{low},{high}}})?", fullmatch=True)
        case Phrases(most=most, longest=longest):
            phrases = WORDS.filter(lambda text: len(text) <= longest)
            drawn = st.lists(phrases, min_size=1, max_size=most, unique=True).map(tuple)
    return drawn


def agreeing(plain: dict[str, Any]) -> dict[str, Any]:
    """Put into order what was drawn out of order: contradictions are tested elsewhere."""
    for names in (
        ("baseline.target_minutes", "baseline.limit_minutes"),
        ("first.opens_minutes", "first.due_minutes", "first.limit_minutes"),
        ("end.due_minutes", "end.limit_minutes"),
        ("fate.due_minutes", "fate.limit_minutes"),
        ("work.carried_minutes", "work.porter_minutes"),
        ("work.carried_minutes", "work.fetch_minutes"),
        ("work.second_check_minutes", "work.check_and_start_minutes"),
    ):
        plain.update(zip(names, sorted(plain[name] for name in names), strict=True))
    if plain["running.early_minutes"] >= plain["running.every_minutes"]:
        plain["running.every_minutes"] = 0
    required = {"inspected": "received"}
    needed = (required.get(step, step) for step in plain["start.requires"])
    plain["pathway.steps"] = tuple(dict.fromkeys((*ALWAYS, *needed, *plain["pathway.steps"])))
    plain["plan.grid_minutes"] = math.gcd(60, plain["plan.grid_minutes"])
    asked = plain["reaction.steps"]
    plain["reaction.close_requires"] = tuple(
        step for step in plain["reaction.close_requires"] if step in asked
    )
    if plain["night.from"] == plain["night.until"]:
        plain["night.until"] = "12:01" if plain["night.from"] == "12:00" else "12:00"
    return plain


@st.composite
def policies(draw: st.DrawFn) -> Policy:
    types = {place: key.type for key in KEYS for place in places(key)}
    plain = agreeing({place: draw(plain_values(kind)) for place, kind in types.items()})
    sources = cycle(draw(st.lists(WORDS, min_size=1, max_size=5)))
    notes = cycle(draw(st.lists(TEXTS, min_size=1, max_size=5)))
    verified = draw(st.booleans())
    values = {
        place: PolicyValue(place, plain[place], kind.unit, next(sources), verified, next(notes))
        for place, kind in types.items()
    }
    name = draw(st.sampled_from(["ward7", "x", "a-b_c"]))
    return build_policy(name, draw(WORDS), draw(TEXTS), values)


@given(policies())
def test_a_flattened_policy_reads_back_as_it_was(policy: Policy) -> None:
    text = flatten(policy)
    again = parse_policy(text, name=policy.name)
    assert again == policy
    assert flatten(again) == text


@pytest.mark.parametrize("name", POLICIES)
def test_a_shipped_policy_stands_alone_when_it_is_flattened(name: str) -> None:
    text = flatten(POLICIES[name])
    assert "based_on" not in text
    assert parse_policy(text, name=name) == POLICIES[name]


def test_a_flattened_policy_reads_as_toml() -> None:
    text = flatten(POLICIES["common"])
    tree = tomllib.loads(text)
    assert tree["policy"] == {
        "name": "common",
        "title": POLICIES["common"].title,
        "description": POLICIES["common"].description,
    }
    assert tree["giving_set"]["hours"] == {
        "value": 12,
        "unit": "hours",
        "source": "Australian Red Cross Lifeblood, administration page: 12 h",
        "verified": True,
        "note": "An older version of the same page says 8 h.",
    }
    assert tree["finish"]["from"]["value"] == ["removed", "issued"]
    assert tree["finish"]["respect_expiry"]["value"] is True
    assert "note" not in tree["night"]["from"]


def test_a_flattened_policy_belongs_to_its_name() -> None:
    with pytest.raises(PolicyError, match=r"uk\.toml, line 2: policy\.name: 'common'"):
        parse_policy(flatten(POLICIES["common"]), name="uk")
