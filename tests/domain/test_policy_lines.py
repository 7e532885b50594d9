"""The line of a table or a key, however the file is laid out."""

import tomllib

import pytest

from server.domain.policy.lines import find_lines, line_of, reported_line

TEXT = '''\
# a remark
top = 1

[a.b]   # another remark
text = """
[not.a.table]
value = 7
"""
list = [
  1,  # one
  [2],
]

  [a."c d"]
x.y = 2
table = {u = 1, v = {w = 2}}
[[rows]]
z = 1
'''


def test_every_table_and_key_has_the_line_on_which_it_first_stands() -> None:
    assert find_lines(TEXT) == {
        ("top",): 2,
        ("a",): 4,
        ("a", "b"): 4,
        ("a", "b", "text"): 5,
        ("a", "b", "list"): 9,
        ("a", "c d"): 14,
        ("a", "c d", "x"): 15,
        ("a", "c d", "x", "y"): 15,
        ("a", "c d", "table"): 16,
        ("a", "c d", "table", "u"): 16,
        ("a", "c d", "table", "v"): 16,
        ("a", "c d", "table", "v", "w"): 16,
        ("rows",): 17,
        ("rows", "z"): 18,
    }


def test_line_ends_of_windows_count_as_one() -> None:
    assert find_lines(TEXT.replace("\n", "\r\n")) == find_lines(TEXT)


def test_what_is_missing_stands_on_the_line_of_what_should_hold_it() -> None:
    lines = find_lines(TEXT)
    assert line_of(lines, ("a", "b", "list")) == 9
    assert line_of(lines, ("a", "b", "missing", "deep")) == 4
    assert line_of(lines, ("a", "missing")) == 4
    assert line_of(lines, ("missing",)) == 1


@pytest.mark.parametrize(
    ("text", "line"), [("a = 1\nb = \nc = 3\n", 2), ("a = 1\nb = [\n1,\n\n\n", 3), ("a", 1)]
)
def test_the_line_at_which_the_reader_gave_up(text: str, line: int) -> None:
    with pytest.raises(tomllib.TOMLDecodeError) as error:
        tomllib.loads(text)
    assert reported_line(text, error.value) == line
