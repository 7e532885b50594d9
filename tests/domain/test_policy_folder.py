"""The shipped policies, and a folder of local ones beside them."""

from pathlib import Path

import pytest

from server.domain.policy import PolicyError, flatten, parse_policy
from server.policies import SHIPPED, load_policies, policy_text, resolved_text

LOCAL = """\
[policy]
title = "Children's ward"
based_on = "uk"

[late_watch.hours]
value = 48
source = "ward book, 2"
"""


def write(folder: Path, name: str, text: str = LOCAL) -> None:
    (folder / name).write_text(text, encoding="utf-8")


def test_five_policies_are_shipped() -> None:
    policies = load_policies()
    assert list(policies) == ["common", "uk", "nz", "au", "ca"] == list(SHIPPED)
    assert {name: policy.name for name, policy in policies.items()} == {n: n for n in SHIPPED}
    assert [policy.title for policy in policies.values()] == [
        "Common practice",
        "United Kingdom",
        "New Zealand",
        "Australia",
        "Canada",
    ]
    assert len({policy.version for policy in policies.values()}) == 5


def test_local_policies_follow_in_the_order_of_their_names(tmp_path: Path) -> None:
    for name in ("ward9.toml", "children.toml", "notes.txt"):
        write(tmp_path, name)
    policies = load_policies(tmp_path)
    assert list(policies) == [*SHIPPED, "children", "ward9"]
    assert policies["children"].late_watch.days == 2
    assert policies["children"].finish_from == policies["uk"].finish_from == ("removed",)


def test_a_local_policy_may_stand_alone(tmp_path: Path) -> None:
    text = flatten(load_policies()["nz"]).replace('name = "nz"', 'name = "own"')
    write(tmp_path, "own.toml", text)
    policies = load_policies(tmp_path)
    assert policies["own"].values == policies["nz"].values


def test_an_empty_folder_adds_nothing(tmp_path: Path) -> None:
    assert load_policies(tmp_path) == load_policies()


def test_a_folder_that_is_not_there_is_an_error(tmp_path: Path) -> None:
    with pytest.raises(NotADirectoryError, match="missing"):
        load_policies(tmp_path / "missing")


def test_a_shipped_name_is_refused(tmp_path: Path) -> None:
    write(tmp_path, "nz.toml")
    with pytest.raises(PolicyError) as refused:
        load_policies(tmp_path)
    assert str(refused.value) == (
        "nz.toml, line 1: nz is a shipped policy; expected a name of its own, with based_on"
    )


def test_a_local_policy_is_not_based_on_another_local_one(tmp_path: Path) -> None:
    write(tmp_path, "a.toml")
    write(tmp_path, "b.toml", LOCAL.replace('"uk"', '"a"'))
    with pytest.raises(PolicyError) as refused:
        load_policies(tmp_path)
    assert str(refused.value) == (
        "b.toml, line 3: policy.based_on: 'a' is unknown; expected one of common, uk, nz, au, ca"
    )


def test_a_byte_order_mark_is_read_over(tmp_path: Path) -> None:
    write(tmp_path, "children.toml", "\ufeff" + LOCAL)
    assert load_policies(tmp_path)["children"].title == "Children's ward"


def test_what_is_not_utf_8_is_refused_with_its_line(tmp_path: Path) -> None:
    (tmp_path / "w.toml").write_bytes(b'[policy]\ntitle = "Stra\xdfe"\n')
    with pytest.raises(PolicyError, match=r"^w\.toml, line 2: not UTF-8; expected a UTF-8 text$"):
        load_policies(tmp_path)


def test_the_text_of_a_shipped_policy_is_its_file() -> None:
    assert policy_text("uk").startswith('[policy]\ntitle = "United Kingdom"\n')
    with pytest.raises(KeyError):
        policy_text("../settings")


def test_the_resolved_text_reads_without_a_base(tmp_path: Path) -> None:
    write(tmp_path, "children.toml")
    policies = load_policies(tmp_path)
    for name in ("uk", "children"):
        assert parse_policy(resolved_text(name, tmp_path), name=name) == policies[name]
