"""The folder of paper sheets: names that are safe, files that are whole, and how old they are."""

import os
from datetime import timedelta
from pathlib import Path
from threading import Event, Thread

import pytest

from server.services.sheet_folder import put_in_place, sheet_file, sheets_in_words
from tests.domain.builders import at

SIZE = 400_000


def _written(folder: Path, ward_id: str, minute: int) -> None:
    file = sheet_file(folder, ward_id)
    put_in_place(file, "a sheet")
    os.utime(file, (at(minute).timestamp(),) * 2)


def test_no_id_of_a_ward_leaves_the_folder_or_hides(tmp_path: Path) -> None:
    ids = ("w1", "../w1", "..", "", "a/b\\c", "Łódź 4", "w" * 300, "w" * 301)
    files = [sheet_file(tmp_path, ward_id) for ward_id in ids]

    for file in files:
        put_in_place(file, "a sheet")

    assert {file.parent for file in files} == {tmp_path}
    assert sorted(tmp_path.iterdir()) == sorted(files)
    assert len(set(files)) == len(ids)
    assert files[1].name == "ward-..%2Fw1.html"


def test_a_reader_never_finds_a_part_of_a_sheet(tmp_path: Path) -> None:
    file, over, seen = tmp_path / "ward-w1.html", Event(), set[tuple[str, int]]()
    put_in_place(file, "a" * SIZE)

    def read() -> None:
        while not over.is_set():
            text = file.read_text("utf-8")
            seen.add(("".join(sorted(set(text))), len(text)))

    reader = Thread(target=read)
    reader.start()
    for _ in range(40):
        put_in_place(file, "b" * SIZE)
        put_in_place(file, "a" * SIZE)
    over.set()
    reader.join()

    assert seen <= {("a", SIZE), ("b", SIZE)}
    assert list(tmp_path.iterdir()) == [file]


def test_what_cannot_be_written_leaves_the_sheet_before_it(tmp_path: Path) -> None:
    file = tmp_path / "ward-w1.html"
    put_in_place(file, "the sheet before")

    with pytest.raises(UnicodeEncodeError):
        put_in_place(file, "half of it \ud800")
    with pytest.raises(OSError, match="ward"):
        put_in_place(tmp_path / "no folder" / "ward-w1.html", "a sheet")

    assert file.read_text("utf-8") == "the sheet before"
    assert list(tmp_path.iterdir()) == [file]


def test_the_folder_says_how_fresh_it_is(tmp_path: Path) -> None:
    def said(*ward_ids: str) -> tuple[str, bool]:
        words, fresh = sheets_in_words(tmp_path, ward_ids, now=at(10))
        return words.replace(str(tmp_path), "DIR"), fresh

    assert said() == ("none to be written in DIR: there is no ward", True)
    assert said("w2", "w1") == ("none was written yet of w1, w2 in DIR", False)
    _written(tmp_path, "w1", 9)
    _written(tmp_path, "w2", 3)
    assert said("w1") == ("written 1 min ago in DIR", True)
    assert said("w1", "w2") == ("written 7 min ago in DIR", True)
    later = sheets_in_words(tmp_path, ("w1", "w2"), now=at(10) + timedelta(seconds=1))
    assert later == (
        f"the oldest in {tmp_path} was written 7 min ago: nobody writes them",
        False,
    )
