"""Readers of published scheduling problems, and those problems built on the planner's core.

Job shops: H. Fisher and G. L. Thompson, in Industrial Scheduling (Prentice-Hall 1963); S. Lawrence
(Carnegie Mellon 1984). Projects: PSPLIB, R. Kolisch and A. Sprecher, European Journal of
Operational Research 96 (1997) 205-216, single mode.
"""

import json
from collections import defaultdict
from itertools import pairwise
from pathlib import Path

from server.planning.core import Schedule
from server.planning.values import Level, Limits, Task


def job_shop(file: Path) -> Schedule:
    """Jobs of tasks in order, each on its machine; what ends last is to end early."""
    given = json.loads(file.read_text("utf-8"))
    schedule = Schedule()
    horizon = sum(map(sum, given["duration_matrix"]))
    machines: defaultdict[int, list[Task]] = defaultdict(list)
    end = schedule.between(0, horizon)
    for lengths, places in zip(given["duration_matrix"], given["machines_matrix"], strict=True):
        job = [schedule.task(schedule.between(0, horizon), length) for length in lengths]
        for before, after in pairwise(job):
            schedule.lag(before, after, before.length)
        for task, machine in zip(job, places, strict=True):
            machines[machine].append(task)
        schedule.lag(job[-1], schedule.task(end, 0), job[-1].length)
    for tasks in machines.values():
        schedule.one_at_a_time(tasks)
    schedule.minimise(Level("end", end))
    return schedule


def project(file: Path) -> Schedule:
    """Jobs that follow each other and share resources; the last one is to come early."""
    lines = file.read_text("utf-8").splitlines()
    heads = [place for place, line in enumerate(lines) if line.startswith("jobnr.")]
    followers = [numbers[3:] for numbers in _rows(lines, heads[0] + 1)]
    needs = [numbers[2:] for numbers in _rows(lines, heads[1] + 2)]
    there = next(place for place, line in enumerate(lines) if line.startswith("RESOURCEAVAIL"))
    (capacities,) = _rows(lines, there + 2)
    schedule = Schedule()
    horizon = sum(length for length, *_ in needs)
    jobs = [schedule.task(schedule.between(0, horizon), length) for length, *_ in needs]
    for job, after in zip(jobs, followers, strict=True):
        for number in after:
            schedule.lag(job, jobs[number - 1], job.length)
    for place, capacity in enumerate(capacities, start=1):
        demands = [need[place] for need in needs]
        schedule.together(jobs, demands, capacity)
    schedule.minimise(Level("end", jobs[-1].start))
    return schedule


def end_of(file: Path, seconds: float = 60) -> tuple[int | None, bool]:
    """The proven or best end of a problem, and whether it is proven, with one worker."""
    schedule = (job_shop if file.suffix == ".json" else project)(file)
    answer = schedule.solve(Limits(work=1000, seconds=seconds))
    return answer.levels[0].worth, answer.is_optimal


def _rows(lines: list[str], place: int) -> list[list[int]]:
    """The whole numbers of the lines from a place on, up to the line of stars."""
    rows = []
    for line in lines[place:]:
        if line.startswith("*"):
            break
        rows.append([int(word) for word in line.split()])
    return rows
