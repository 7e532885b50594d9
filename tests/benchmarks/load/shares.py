"""A share of a processor for a process, as if it ran on a machine of its own: Linux's groups."""

import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Final

GROUPS: Final = Path("/sys/fs/cgroup")
PERIOD_US: Final = 10_000
"""So short that whoever has used its share up does not hold others up for long."""


def can_share() -> bool:
    """Whether this machine lets us: its groups are there and ours to make."""
    root = _root()
    return root is not None and os.access(root, os.W_OK)


@contextmanager
def at_most(process_id: int, share: float) -> Iterator[None]:
    """Let all threads of a process take no more than a share of one processor together.

    Raises OSError where groups cannot be made.
    """
    root = _root()
    if root is None:
        raise FileNotFoundError(GROUPS)
    group = root / f"share-{process_id}"
    group.mkdir()
    try:
        quota = round(share * PERIOD_US)
        if root == GROUPS:
            (group / "cpu.max").write_text(f"{quota} {PERIOD_US}")
        else:
            (group / "cpu.cfs_period_us").write_text(f"{PERIOD_US}")
            (group / "cpu.cfs_quota_us").write_text(f"{quota}")
        (group / "cgroup.procs").write_text(f"{process_id}")
        yield
    finally:
        # A process that has ended is in no group; one that has not goes back.
        for member in (group / "cgroup.procs").read_text().split():
            (root / "cgroup.procs").write_text(member)
        group.rmdir()


def _root() -> Path | None:
    """The folder of the second version of groups, or of the first's part for processors."""
    if "cpu" in _words(GROUPS / "cgroup.subtree_control"):
        return GROUPS
    first = GROUPS / "cpu"
    return first if (first / "cpu.cfs_quota_us").exists() else None


def _words(file: Path) -> list[str]:
    return file.read_text().split() if file.exists() else []
