"""Files that every example of a property begins anew, on the wards as they were entered."""

from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from pathlib import Path
from shutil import copyfile

from server.store.store import Store


@contextmanager
def fresh_stores(template: Path, file: Path, stores: int = 1) -> Iterator[list[Store]]:
    """So many stores, each a process of its own, on one new copy of the wards."""
    with ExitStack() as stack:
        for leftover in file.parent.glob(f"{file.name}*"):
            leftover.unlink()
        copyfile(template, file)
        opened = [Store(f"sqlite:///{file}") for _ in range(stores)]
        for store in opened:
            stack.callback(store.close)
        yield opened
