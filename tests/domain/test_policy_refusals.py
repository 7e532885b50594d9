"""A policy file that is wrong is refused with its name, the line and what was expected."""

import pytest

from server.domain.policy import PolicyError, parse_policy
from server.domain.policy.keys import STEPS
from tests.domain.builders import COMMON
from tests.domain.policy_files import HEAD, SOURCE, entry, refusal


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("", "1: there is no table [policy]; expected one with a title"),
        ("policy = 3", "1: policy: 3; expected a table [policy]"),
        ("\n[policy]\n", "2: policy.title is missing; expected a few words"),
        ('[policy]\n\ntitle = " "\n', "3: policy.title is missing; expected a few words"),
        ("[policy]\ntitle = 7\n", "2: policy.title: 7; expected a text"),
        (
            HEAD + 'titel = "x"\n',
            "4: policy.titel is unknown; expected title",
        ),
        (
            HEAD + "colour = 1\n",
            "4: policy.colour is unknown; expected one of name, title, based_on, description",
        ),
        (HEAD + 'name = "uk"\n', "4: policy.name: 'uk'; expected 'ward7' as in the file name"),
        (
            '[policy]\ntitle = "Ward 7"\nbased_on = "comon"\n',
            "3: policy.based_on: 'comon' is unknown; expected one of common",
        ),
    ],
)
def test_a_wrong_head_is_refused(text: str, expected: str) -> None:
    assert refusal(text) == expected


def test_a_base_is_refused_where_there_is_none() -> None:
    with pytest.raises(PolicyError, match=r"'common' is unknown; expected no base here"):
        parse_policy(HEAD, name="ward7")


@pytest.mark.parametrize("name", ["Ward7", "7ward", "ward 7", "", "ward/7"])
def test_a_name_that_cannot_stand_in_an_address_is_refused(name: str) -> None:
    expected = "expected small letters, digits, _ and - before .toml"
    assert refusal(HEAD, name=name) == f"1: file name {name!r}; {expected}"


@pytest.mark.parametrize(
    ("text", "line"),
    [
        ("[policy]\ntitle = \n", 2),
        ('[policy]\ntitle = "Ward 7\n', 2),
        ("[policy]\nx = [\n1,\n\n", 3),
        (HEAD + "[return.minutes]\n[first.due_minutes]\n\n[return.minutes]\n", 7),
        (HEAD + "[return.minutes]\nvalue = 30\nvalue = 60\n", 6),
        ("[policy]\r\ntitle = \r\n", 2),
    ],
)
def test_bad_toml_and_duplicate_names_are_refused(text: str, line: int) -> None:
    found = refusal(text)
    assert found.startswith(f"{line}: ")
    assert found.endswith("; expected valid TOML")


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        (HEAD + "[starts.target_minutes]\n", "4: starts is unknown; expected start"),
        (HEAD + "[zzz]\n", "4: zzz is unknown; expected one of policy, pathway, start,"),
        ("zzz = 3\n" + HEAD, "1: zzz is unknown; expected one of policy, pathway, start,"),
        ("start = 3\n" + HEAD, "1: start: 3; expected a table [start]"),
        (
            HEAD + "\n[first.dew_minutes]\n",
            "5: first.dew_minutes is unknown; expected first.due_minutes",
        ),
        (
            HEAD + "[start]\ntarget_minutes = 30\n",
            "5: start.target_minutes: 30; expected a table [start.target_minutes]",
        ),
        (
            HEAD + "[[start.target_minutes]]\n",
            "4: start.target_minutes: [{}]; expected a table [start.target_minutes]",
        ),
        (
            entry("start.target_minutes", "30", "unti = 4"),
            "8: start.target_minutes.unti is unknown; expected unit",
        ),
        (
            entry("finish.minutes", "240"),
            "5: finish.minutes.value is unknown; expected one of default, red_cells, platelets,",
        ),
        (
            entry("finish.minutes.platlets", "240"),
            "4: finish.minutes.platlets is unknown; expected platelets",
        ),
        (
            HEAD + "[finish.minutes]\nplatelets = 60\n",
            "5: finish.minutes.platelets: 60; expected a table [finish.minutes.platelets]",
        ),
    ],
)
def test_what_no_policy_has_is_refused(text: str, expected: str) -> None:
    assert refusal(text).startswith(expected)


@pytest.mark.parametrize(
    ("rows", "expected"),
    [
        (SOURCE, "4: return.minutes has no value; expected a whole number of minutes from 1 to"),
        ("value = 30\n", "4: return.minutes has no source; expected the document and its section"),
        (
            "value = 30\nsource = ' '\n",
            "6: return.minutes has no source; expected the document and its section",
        ),
        ("value = 30\nsource = 5\n", "6: return.minutes.source: 5; expected a text"),
        ("value = 30\nnote = 5\n" + SOURCE, "6: return.minutes.note: 5; expected a text"),
        ("unit = 'hours'\n", "5: return.minutes: unit 'hours'; expected 'minutes'"),
        ("unit = 60\n", "5: return.minutes: unit 60; expected 'minutes'"),
        (
            "value = 30\nverified = 'yes'\n" + SOURCE,
            "6: return.minutes: verified 'yes'; expected true (read in the original) or false",
        ),
    ],
)
def test_a_value_without_what_belongs_to_it_is_refused(rows: str, expected: str) -> None:
    assert refusal(f"{HEAD}[return.minutes]\n{rows}").startswith(expected)


@pytest.mark.parametrize(
    ("key", "value", "expected"),
    [
        ("return.minutes", "-5", "-5; expected a whole number of minutes from 1 to 1440"),
        ("return.minutes", "0", "0; expected a whole number of minutes from 1 to 1440"),
        ("return.minutes", "1441", "1441; expected a whole number of minutes from 1 to 1440"),
        ("return.minutes", "30.0", "30.0; expected a whole number of minutes from 1 to 1440"),
        ("return.minutes", "true", "True; expected a whole number of minutes from 1 to 1440"),
        ("late_watch.hours", "'24'", "'24'; expected a whole number of hours from 1 to 168"),
        (
            "plan.grid_minutes",
            "7",
            "7; expected a whole number of minutes from 1 to 60 that",
        ),
        (
            "plan.grid_minutes",
            "0",
            "0; expected a whole number of minutes from 1 to 60 that",
        ),
        ("identity.checkers", "3", "3; expected a whole number of people from 1 to 2"),
        (
            "identity.band_prefix",
            "'505'",
            "'505'; expected a text of 4 to 12 digits, or an empty one",
        ),
        (
            "identity.band_prefix",
            "505089",
            "505089; expected a text of 4 to 12 digits, or an empty one",
        ),
        ("rate.first_max_ml_h", "nan", "nan; expected a number of mL/h from 1 to 1000"),
        ("rate.first_max_ml_h", "inf", "inf; expected a number of mL/h from 1 to 1000"),
        ("rate.first_max_ml_h", "true", "True; expected a number of mL/h from 1 to 1000"),
        ("rate.first_max_ml_h", "'60'", "'60'; expected a number of mL/h from 1 to 1000"),
        ("rate.max_ml_kg_h.plasma", "0.05", "0.05; expected a number of mL/kg/h from 0.1 to 100"),
        ("finish.respect_expiry", "1", "1; expected true or false"),
        ("finish.from", "[]", "[]; expected a list of at least one of removed, issued, received,"),
        ("finish.from", "'issued'", "'issued'; expected a list of at least one of removed,"),
        ("finish.from", "['taken']", "['taken']; expected a list of at least one of removed,"),
        ("finish.from", "[3, []]", "[3, []]; expected a list of at least one of removed,"),
        (
            "finish.from",
            "['issued', 'issued']",
            "['issued', 'issued']; expected a list of at least one of removed, issued,",
        ),
        (
            "start.requires",
            "['nap']",
            "['nap']; expected a list of any of order_consent, group_sample, access, inspected,",
        ),
        ("observations.required", "['smile']", "['smile']; expected a list of at least one of"),
        ("rate.child_cap_for", "['blood']", "['blood']; expected a list of any of red_cells,"),
        ("night.from", "'24:00'", "'24:00'; expected a ward time such as \"20:00\""),
        ("night.from", "'8:00'", "'8:00'; expected a ward time such as \"20:00\""),
        ("night.from", "20", '20; expected a ward time such as "20:00"'),
        (
            "reminders.escalate_to",
            "'the boss'",
            "'the boss'; expected one of unit_nurse, charge_nurse, manager, next_contact",
        ),
        ("reminders.to", "['manager']", "['manager']; expected one of unit_nurse, charge_nurse,"),
    ],
)
def test_a_value_that_cannot_be_is_refused_on_its_own_line(
    key: str, value: str, expected: str
) -> None:
    assert refusal(entry(key, value)).startswith(f"5: {key}: {expected}")


@pytest.mark.parametrize(
    ("key", "value", "expected"),
    [
        ("first.due_minutes", "9", "first.due_minutes: 9 is less than first.opens_minutes (10)"),
        (
            "first.opens_minutes",
            "16",
            "first.due_minutes: 15 is less than first.opens_minutes (16)",
        ),
        (
            "first.due_minutes",
            "21",
            "first.limit_minutes: 20 is less than first.due_minutes (21)",
        ),
        (
            "first.limit_minutes",
            "14",
            "first.limit_minutes: 14 is less than first.due_minutes (15)",
        ),
        ("end.due_minutes", "61", "end.limit_minutes: 60 is less than end.due_minutes (61)"),
        ("end.limit_minutes", "14", "end.limit_minutes: 14 is less than end.due_minutes (15)"),
        (
            "baseline.target_minutes",
            "61",
            "baseline.limit_minutes: 60 is less than baseline.target_minutes (61)",
        ),
        ("fate.due_minutes", "241", "fate.limit_minutes: 240 is less than fate.due_minutes (241)"),
        (
            "running.early_minutes",
            "60",
            "running.early_minutes: 60 is not less than running.every_minutes (60)",
        ),
        (
            "running.every_minutes",
            "15",
            "running.early_minutes: 15 is not less than running.every_minutes (15)",
        ),
        (
            "work.porter_minutes",
            "9",
            "work.porter_minutes: 9 is less than work.carried_minutes",
        ),
        ("work.fetch_minutes", "9", "work.fetch_minutes: 9 is less than work.carried_minutes (10)"),
        (
            "work.second_check_minutes",
            "16",
            "work.check_and_start_minutes: 15 is less than work.second_check_minutes (16)",
        ),
        (
            "night.from",
            "'08:00'",
            "night.until: 08:00 is the same as night.from; expected another ward time",
        ),
    ],
)
def test_values_that_contradict_each_other_are_refused(key: str, value: str, expected: str) -> None:
    assert refusal(entry(key, value)).startswith(f"5: {expected}")


def test_a_contradiction_says_what_was_expected() -> None:
    assert refusal(entry("first.opens_minutes", "16")) == (
        "5: first.due_minutes: 15 is less than first.opens_minutes (16); "
        "expected first.opens_minutes <= first.due_minutes"
    )
    assert refusal(entry("running.early_minutes", "60")) == (
        "5: running.early_minutes: 60 is not less than running.every_minutes (60); "
        "expected running.early_minutes < running.every_minutes"
    )


@pytest.mark.parametrize(
    ("key", "value"),
    [
        ("first.due_minutes", "10"),
        ("first.opens_minutes", "15"),
        ("first.due_minutes", "20"),
        ("first.limit_minutes", "15"),
        ("end.due_minutes", "60"),
        ("baseline.target_minutes", "60"),
        ("fate.limit_minutes", "60"),
        ("running.early_minutes", "59"),
        ("running.every_minutes", "0"),  # none at all: how early means nothing
        ("night.from", "'08:01'"),
    ],
)
def test_values_that_just_agree_are_accepted(key: str, value: str) -> None:
    policy = parse_policy(entry(key, value), name="ward7", bases={"common": COMMON})
    assert str(policy.values[key].value) == value.strip("'")


def test_a_missing_key_is_refused_where_it_should_stand() -> None:
    assert refusal('\n[policy]\ntitle = "Alone"\n') == (
        "1: pathway.steps is missing; expected a list of at least one of "
        f"{', '.join(STEPS)}, each once, with its source"
    )
