"""Every wrong file of a site is refused by its line."""

import pytest

from server.domain.policy import PolicyError
from server.site import example
from server.site.coded import read_products, read_special_testing
from server.site.compatibility import read_compatibility
from server.site.wristband import read_wristband

TABLE = example("compatibility.toml")
SIGNED_OFF = '[signed_off]\nname = ""\non = ""\n'
RED_O = '[red_cells.O]\nO = { level = "first" }\nA = { level = "never" }\n'
RHD_NEG = '[red_cells.rhd.neg]\nneg = { level = "first" }\n'
IRRADIATED = '[requirements.irradiated]\ncomponents = ["red_cells", '
PATIENTS = "child_under_years = 18\nchildbearing_until_years = 50\n"
STOPS = 'needs_reason = ["never", "not_listed", "emergency_only", "conditional"]\n'
UNKNOWN_STOPS = "unknown_needs_reason = []\n"
MATCHED = 'rhd = "not matched"\n\n[plasma.O]'


def line_of(text: str, piece: str) -> int:
    """The line on which a piece of a text begins."""
    return 1 + text[: text.index(piece)].count("\n")


@pytest.mark.parametrize(
    ("before", "after", "place", "message"),
    [
        (SIGNED_OFF, '[signed_off]\nname = "Dr Okafor"\non = ""\n', "on =",
         "signed_off.on is empty; expected both or neither"),
        (SIGNED_OFF, '[signed_off]\nname = ""\non = 2026-02-01\n', 'name = ""',
         "signed_off.name is empty; expected both or neither"),
        (SIGNED_OFF, '[signed_off]\nname = "Dr Okafor"\non = "last week"\n', "on =",
         "signed_off.on: 'last week'; expected a day such as 2026-11-27"),
        (SIGNED_OFF, '[signed_off]\nname = "Dr Okafor"\non = 2026-02-01T10:00:00\n', "on =",
         ("signed_off.on: datetime.datetime(2026, 2, 1, 10, 0); "
         "expected a day such as 2026-11-27")),
        (SIGNED_OFF, '[signed_off]\nname = 3\non = ""\n', "name = 3",
         "signed_off.name: 3; expected a text"),
        (SIGNED_OFF, '[signed_off]\nnames = ""\n', "names =",
         "signed_off.names is unknown; expected name"),
        (SIGNED_OFF, "", "# Which", "signed_off: None; expected a table [signed_off]"),
        (SIGNED_OFF, f"[zzz]\n{SIGNED_OFF}", "[zzz]",
         ("zzz is unknown; expected one of signed_off, start, patients, requirements, red_cells, "
         "platelets, plasma, cryoprecipitate, granulocytes, whole_blood")),
        (STOPS, 'needs_reason = ["never"]\n', "needs_reason = [",
         "start.needs_reason lacks not_listed; these always stop"),
        (STOPS, "needs_reason = []\n", "needs_reason = [",
         "start.needs_reason lacks not_listed, never; these always stop"),
        (UNKNOWN_STOPS, 'unknown_needs_reason = ["nevr"]\n', "unknown_needs",
         "start.unknown_needs_reason: 'nevr' is unknown; expected never"),
        (UNKNOWN_STOPS, "", "[start]",
         ("start.unknown_needs_reason: None; expected a list of at least one of first, "
         "acceptable, conditional, emergency_only, not_listed, never")),
        (PATIENTS, "child_under_years = 18.5\nchildbearing_until_years = 50\n", "child_under",
         "patients.child_under_years: 18.5; expected whole years from 0 to 120"),
        (PATIENTS, "child_under_years = 18\nchildbearing_until_years = true\n", "childbearing",
         "patients.childbearing_until_years: True; expected whole years from 0 to 120"),
        (RED_O, '[red_cells.O]\nO = { level = "first" }\nA = { level = "acceptable" }\n',
         'A = { level = "acceptable" }',
         ("red_cells.O.A: acceptable; red cells across the ABO barrier are never given, "
         "expected never")),
        (RED_O, '[red_cells.O]\nO = { level = "frist" }\nA = { level = "never" }\n',
         'O = { level = "frist" }', "red_cells.O.O.level: 'frist'; expected first"),
        (RED_O, '[red_cells.O]\nO = { level = 1 }\nA = { level = "never" }\n',
         "O = { level = 1 }", ("red_cells.O.O.level: 1; expected one of first, acceptable, "
         "conditional, emergency_only, not_listed, never")),
        (RED_O, '[red_cells.O]\nO = "first"\nA = { level = "never" }\n', 'O = "first"',
         "red_cells.O.O: 'first'; expected a table [red_cells.O.O]"),
        (RED_O, '[red_cells.O]\nO = { level = "first" }\n', "[red_cells.O]",
         "red_cells.O.A is missing; expected a level for it"),
        (RED_O, f'{RED_O}C = {{ level = "never" }}\n', "C =",
         "red_cells.O.C is unknown; expected one of O, A, B, AB"),
        (RED_O, RED_O.replace("first", 'first", nota = "x'), 'O = { level = "first", nota',
         "red_cells.O.O.nota is unknown; expected note"),
        (RHD_NEG, '[red_cells.rhd.neg]\nneg = { level = "first", at_risk = "nevr" }\n',
         'neg = { level = "first", at_risk',
         "red_cells.rhd.neg.neg.at_risk: 'nevr'; expected never"),
        (RHD_NEG, '[red_cells.rhd.neg]\nneg = { level = "first", anti_d = "yes" }\n',
         'neg = { level = "first", anti_d',
         "red_cells.rhd.neg.neg.anti_d: 'yes'; expected true or false"),
        (RHD_NEG, "[red_cells.rhd.neg]\n", "[red_cells.rhd.neg]",
         "red_cells.rhd.neg.neg is missing; expected a level for it"),
        (MATCHED, 'rhd = "no"\n\n[plasma.O]', 'rhd = "no"',
         "plasma.rhd: 'no'; expected a table or \"not matched\""),
        (IRRADIATED, '[requirements.irradiated]\ncomponents = ["redcells", ', "components =",
         "requirements.irradiated.components: 'redcells' is unknown; expected red_cells"),
        ("[requirements.washed]", "[requirements.wished]", "[requirements.wished]",
         "requirements.wished is unknown; expected washed"),
    ],
)  # fmt: skip
def test_a_wrong_table_is_refused_by_its_line(
    before: str, after: str, place: str, message: str
) -> None:
    assert TABLE.count(before) == 1
    text = TABLE.replace(before, after)

    with pytest.raises(PolicyError) as refused:
        read_compatibility(text)

    started = text.index(after) if after else 0
    line = 1 + text[: text.index(place, started)].count("\n")
    assert str(refused.value) == f"compatibility.toml, line {line}: {message}"


@pytest.mark.parametrize("component", ["granulocytes", "plasma"])
def test_a_component_without_its_table_is_refused(component: str) -> None:
    text = TABLE.replace(f"[{component}", "[signed_off.x")

    with pytest.raises(PolicyError) as refused:
        read_compatibility(text)

    assert refused.value.message.startswith(("signed_off.x", f"{component}: None"))


def test_a_source_that_is_missing_is_refused() -> None:
    start = TABLE.index("[platelets]\n") + len("[platelets]\n")
    end = TABLE.index("\n", start) + 1

    with pytest.raises(PolicyError) as refused:
        read_compatibility(TABLE[:start] + TABLE[end:])

    line = line_of(TABLE, "[platelets]")
    assert str(refused.value) == (
        f"compatibility.toml, line {line}: platelets.source is missing; "
        "expected where it comes from"
    )


def test_a_source_of_rhd_that_is_missing_is_refused() -> None:
    start = TABLE.index("[platelets.rhd]\n") + len("[platelets.rhd]\n")
    end = TABLE.index("\n", start) + 1

    with pytest.raises(PolicyError) as refused:
        read_compatibility(TABLE[:start] + TABLE[end:])

    assert refused.value.message == (
        "platelets.rhd.source is missing; expected where it comes from"
    )


def test_what_is_no_toml_is_refused_by_its_line() -> None:
    with pytest.raises(PolicyError) as refused:
        read_compatibility("[signed_off]\nname = \n")

    assert (refused.value.file, refused.value.line) == ("compatibility.toml", 2)


@pytest.mark.parametrize(
    ("rows", "line", "message"),
    [
        ("", 1, "the header is ''; expected product_code,component and at least one attribute"),
        ("product_code,component\n", 1, ("the header is 'product_code,component'; "
         "expected product_code,component and at least one attribute")),
        ("code,component,washed\n", 1, ("the header is 'code,component,washed'; "
         "expected product_code,component and at least one attribute")),
        ("product_code,component,wshed\n", 1, "'wshed' is no attribute; expected washed"),
        ("product_code,component,washed,washed\n", 1,
         "washed stands twice; expected each column once"),
        ("product_code,component,washed\nE9990,red_cells\n", 2,
         "2 fields; expected 3 as in the header"),
        ("product_code,component,washed\nE990,red_cells,yes\n", 2,
         "'E990' is no code; expected five characters A-Z and 0-9"),
        ("product_code,component,washed\nE9990,red_cell,yes\n", 2,
         "'red_cell' is no component; expected red_cells"),
        ("product_code,component,washed\nE9990,red_cells,maybe\n", 2,
         "washed: 'maybe'; expected yes, no or nothing"),
        ("product_code,component,washed\nE9990,red_cells,no\nE9990,red_cells,yes\n", 3,
         "E9990 stands twice; expected each code once"),
        ('product_code,component,washed\nE9990,"red_cells" x,no\n', 2,
         "',' expected after '\"'; expected fields between commas"),
    ],
)  # fmt: skip
def test_wrong_products_are_refused_by_their_line(rows: str, line: int, message: str) -> None:
    with pytest.raises(PolicyError) as refused:
        read_products(rows)

    assert str(refused.value) == f"products.csv, line {line}: {message}"


def test_wrong_special_testing_is_refused_by_its_line() -> None:
    with pytest.raises(PolicyError) as refused:
        read_special_testing("special_testing_code,cmv_negative\nN99,yes\n")

    assert str(refused.value) == (
        "special_testing.csv, line 2: 'N99' is no code; expected five characters A-Z and 0-9"
    )


@pytest.mark.parametrize(
    ("rows", "line", "message"),
    [
        ("", 1, "record_number: None; expected a table [record_number]"),
        ("[zzz]\n", 1, "zzz is unknown; expected one of record_number"),
        ("[record_number]\n", 1, "pattern is missing; expected a regular expression"),
        ('[record_number]\npatern = "x"\n', 2, "record_number.patern is unknown; expected pattern"),
        ('[record_number]\npattern = "["\n', 2, ("pattern: unterminated character set at position "
         "0; expected a regular expression")),
        ('[record_number]\npattern = "x"\n', 1,
         "accepts: None; expected a list of at least one text"),
        ('[record_number]\npattern = "x"\naccepts = ["y"]\n', 3,
         "accepts: the pattern does not accept 'y'"),
        ('[record_number]\npattern = "x*"\naccepts = ["x"]\nrefuses = ["y", ""]\n', 4,
         "refuses: the pattern accepts ''"),
        ('[record_number]\npattern = "x"\naccepts = [1]\n', 3,
         "accepts: [1]; expected a list of at least one text"),
    ],
)  # fmt: skip
def test_a_wrong_wristband_is_refused_by_its_line(rows: str, line: int, message: str) -> None:
    with pytest.raises(PolicyError) as refused:
        read_wristband(rows)

    assert str(refused.value) == f"wristband.toml, line {line}: {message}"
