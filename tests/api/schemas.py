"""Good bodies made from the OpenAPI document, and wrong values for each of their fields."""

from collections.abc import Iterator
from copy import deepcopy
from typing import Any, Final

from tests.api.board_api import NOON

Schema = dict[str, Any]
Wrong = tuple[str, Any]  # the dotted path of a field, and the whole body with a wrong value in it

INSTANT: Final = f"{NOON:%Y-%m-%dT%H:%M:%SZ}"
GOOD: Final[dict[str, Any]] = {
    "address": "https://pager.example/in",
    "birth_date": "1961-05-04",
    "attributes": ["cmv_negative"],
    "covered_id": "n1",
    "covering_id": "n2",
    "ends_at": "2026-03-03T20:00:00Z",
    "event_id": "none",
    "patient_id": "p1",
    "password": "quay lamp ferry moss",
    "policy": "common",
    "requirements": ["irradiated"],
    "role": "bedside_nurse",
    "second_by": "n2",
    "step": "recheck_identity",
    "systolic_mmhg": 120,
    "starts_at": "2026-03-03T08:00:00Z",
    "staff_id": "n1",
    "timezone": "Europe/London",
    "until_at": "2026-03-03T12:30:00Z",
    "ward_id": "w1",
    "wards": ["w1"],
    "breaks": [{"starts_at": "2026-03-03T12:00:00Z", "ends_at": "2026-03-03T12:30:00Z"}],
}
TOO_MUCH: Final = 10**400
CONTROLS: Final = ("a\x00b", "a\x1bb", "a\x7fb", "\ud800", "")
NOT_TEXT: Final = (1, True, ["a"], {"a": 1})
NOT_NUMBERS: Final = ("1", True, [1], {"a": 1}, TOO_MUCH, -TOO_MUCH)
NOT_BOOLEANS: Final = (1, 0, "true", "yes", [True])
NOT_INSTANTS: Final = (
    1_772_539_200,
    "2026-03-03",
    "2026-03-03T12:00:00",
    "2026-03-03 noon",
    "2026-02-30T12:00:00Z",
    "2026-03-03T25:00:00Z",
    "2026-03-03T12:00:00+25:00",
    "1026-03-03T12:00:00Z",
    "9999-12-31T23:59:59-23:59",
    "٢٠٢٦-03-03T12:00:00Z",
    *CONTROLS,
)
NOT_DAYS: Final = (1, "1961", "1961-13-01", "0001-01-01", "1961-05-04T00:00:00Z", *CONTROLS)


class Bodies:
    """The bodies of a document's POST operations."""

    def __init__(self, document: Schema) -> None:
        self._document = document

    def of_path(self, path: str) -> dict[str, Schema]:
        """The schemas of the bodies a path takes, by kind where there are several."""
        operation = self._document["paths"][path]["post"]
        schema = operation["requestBody"]["content"]["application/json"]["schema"]
        if "discriminator" not in schema:
            return {"": self.resolved(schema)}
        named = schema["discriminator"]["mapping"]
        return {kind: self.resolved({"$ref": ref}) for kind, ref in named.items()}

    def paths(self) -> list[str]:
        """Every path that takes a body."""
        paths = self._document["paths"].items()
        return [path for path, item in paths if "requestBody" in item.get("post", {})]

    def resolved(self, schema: Schema) -> Schema:
        """A schema in the place of a reference to it."""
        if "$ref" not in schema:
            return schema
        found: Schema = self._document["components"]["schemas"][schema["$ref"].rsplit("/", 1)[1]]
        return found

    def good(self, schema: Schema) -> Any:
        """A body with every field, required or not."""
        return {name: self._good(name, part) for name, part in schema["properties"].items()}

    def _good(self, name: str, given: Schema) -> Any:  # noqa: PLR0911 - one line a type
        schema = self._plain(given)
        if name in GOOD and GOOD[name] in schema.get("enum", [GOOD[name]]):
            return deepcopy(GOOD[name])
        if "const" in schema:
            return schema["const"]
        if "enum" in schema:
            return schema["enum"][0]
        if schema["type"] == "array":
            return [self._good("item", schema["items"])]
        if schema["type"] == "object":
            return self.good(schema)
        if schema["type"] in ("number", "integer"):
            return max(schema.get("minimum", 0), 1)
        if schema["type"] == "boolean":
            return False
        return INSTANT if schema.get("format") == "date-time" else "abcdefghij"

    def _plain(self, schema: Schema) -> Schema:
        """The schema of what is there where null is allowed too."""
        found = self.resolved(schema)
        options = [part for part in found.get("anyOf", ()) if part.get("type") != "null"]
        return self.resolved(options[0]) if options else found

    def wrong(self, schema: Schema) -> Iterator[Wrong]:
        """The good body with one wrong value, for each field and each way of being wrong."""
        body = self.good(schema)
        for name, part in schema["properties"].items():
            for path, value in self._wrong(name, self._plain(part)):
                yield path, _with(body, path.split("."), value)
        for name in schema.get("required", ()):
            if name != "kind":
                yield name, {field: item for field, item in body.items() if field != name}
        yield "surplus", body | {"surplus": 1}

    def _wrong(self, path: str, schema: Schema) -> Iterator[tuple[str, Any]]:
        if schema.get("type") == "array":
            yield from ((path, value) for value in ("a", {"a": 1}, 1, ["x"] * 51))
            yield from self._wrong(f"{path}.0", self._plain(schema["items"]))
        elif schema.get("type") == "object":
            yield path, "a"
            for name, part in schema["properties"].items():
                yield from self._wrong(f"{path}.{name}", self._plain(part))
        else:
            yield from ((path, value) for value in _wrong_values(schema))


def _wrong_values(schema: Schema) -> Iterator[Any]:
    if "enum" in schema or "const" in schema:
        return iter(("no such word", 99, True, ["a"], "\ud800"))
    if schema["type"] == "boolean":
        return iter(NOT_BOOLEANS)
    if schema["type"] in ("number", "integer"):
        return iter([*NOT_NUMBERS, *_beyond(schema)])
    if schema.get("format") == "date-time":
        return iter(NOT_INSTANTS)
    if schema.get("format") == "date":
        return iter(NOT_DAYS)
    return iter([*NOT_TEXT, *CONTROLS, "x" * 5_000])


def _beyond(schema: Schema) -> list[Any]:
    """Just beyond both bounds, and where only whole numbers count, between two."""
    over = [schema["minimum"] - 1, schema["maximum"] + 1]
    return [*over, 1.5] if schema["type"] == "integer" else over


def _with(body: Any, path: list[str], value: Any) -> Any:
    """A copy of a body with one value replaced."""
    copy = deepcopy(body)
    place = copy
    for step in path[:-1]:
        place = place[int(step) if step.isdigit() else step]
    last = path[-1]
    place[int(last) if last.isdigit() else last] = value
    return copy
