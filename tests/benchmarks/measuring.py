"""Costs of several ways to do the same work, taken in turn, and the ratios between them."""

import gc
import resource
import time
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from statistics import median
from typing import NamedTuple

ROUNDS = 5
"""At the least: of so many the median is taken."""


class Cost(NamedTuple):
    """Seconds by the clock, and of the processor in this process and in those that it started and ended."""

    wall: float
    cpu: float


@dataclass(frozen=True)
class Row:
    """One figure of the table, and the reach that is set for it."""

    work: str
    beside: str
    value: float
    reach: float
    at_least: bool = False
    """Whether more is better."""
    unit: str = "x"
    by_processor: float | None = None
    """The same ratio in seconds of the processor, which other work on the machine disturbs less."""
    costs: Mapping[str, Cost] | None = None
    counted: str = ""
    """What is in it, and what is out of it."""

    @property
    def reached(self) -> bool:
        return self.value >= self.reach if self.at_least else self.value <= self.reach


def cost(work: Callable[[], object]) -> Cost:
    """What doing it once costs; rubbish of earlier work is cleared away before."""
    gc.collect()
    wall, cpu = time.perf_counter(), _processor()
    work()
    return Cost(time.perf_counter() - wall, _processor() - cpu)


def _processor() -> float:
    used = (resource.getrusage(who) for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN))
    return sum(each.ru_utime + each.ru_stime for each in used)


def in_turn(works: Mapping[str, Callable[[], object]], rounds: int = ROUNDS) -> dict[str, Cost]:
    """The median cost of each work: all of them once, then all of them again, and so on."""
    costs: dict[str, list[Cost]] = {name: [] for name in works}
    for _ in range(rounds):
        for name, work in works.items():
            costs[name].append(cost(work))
    return {name: Cost(*map(median, zip(*each, strict=True))) for name, each in costs.items()}


def at_most(work: str, beside: str, reach: float, ours: Cost, theirs: Cost, counted: str) -> Row:
    """Ours may take `reach` times as long as theirs."""
    return Row(
        work,
        beside,
        ours.wall / theirs.wall,
        reach,
        False,
        "x",
        ours.cpu / theirs.cpu,
        {"ours": ours, "theirs": theirs},
        counted,
    )


def faster(work: str, beside: str, reach: float, ours: Cost, theirs: Cost, counted: str) -> Row:
    """Theirs takes at least `reach` times as long as ours."""
    costs = {"ours": ours, "theirs": theirs}
    return Row(work, beside, theirs.wall / ours.wall, reach, True, "x", theirs.cpu / ours.cpu, costs, counted)


def seconds(work: str, reach: float, ours: Cost, counted: str) -> Row:
    """Ours may take `reach` seconds by the clock."""
    return Row(work, "-", ours.wall, reach, unit="s", costs={"ours": ours}, counted=counted)
