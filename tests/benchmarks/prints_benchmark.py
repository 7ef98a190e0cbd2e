"""Run by hand: how fast colour and season are answered. `python tests/benchmarks/prints_benchmark.py [--runs 21]`.

Prints the median and the slowest of each question, and whether it keeps within its goal.
"""

from __future__ import annotations

import argparse
import itertools
import statistics
import subprocess
import sys
import time
from collections.abc import Callable

from folioproof import Reference
from folioproof.cache import ready_database
from folioproof.phenology import strip
from folioproof.places import read_place

Question = Callable[[], object]


def timed(ask: Question, runs: int) -> list[float]:
    """Return the milliseconds of each run, after one that is not counted."""
    ask()
    taken = []
    for _ in range(runs):
        start = time.perf_counter()
        ask()
        taken.append((time.perf_counter() - start) * 1000)
    return taken


def questions(reference: Reference) -> dict[str, tuple[Question, float | None]]:
    """Return what is asked, with the milliseconds it should take."""
    prints = reference.prints
    plants = sorted(prints.store.growth())[:350]
    # Each run asks for another day, place, year or colour, so that nothing kept from the last run answers it.
    count = itertools.count()

    def day() -> str:
        return f"2026-{next(count) % 12 + 1:02}-{next(count) % 28 + 1:02}"

    def gather(limit: int) -> object:
        return prints.gather("Europe/Lisbon", day(), "iron", company="class", limit=limit)

    def gather_wanted() -> object:
        return prints.gather("Europe/Lisbon", day(), wants=[f"{30 + next(count) % 50},2,20"])

    def strips() -> object:
        place = read_place(f"{35 + next(count) % 200 / 10},10")
        return [strip(prints.calendar_of(plant, place, 2026), prints.shares(plant)) for plant in plants]

    return {
        f"gather, the first 30 of {len(prints.store.growth())}": (lambda: gather(30), 50),
        "gather, all of them": (lambda: gather(1000), None),
        "gather, a colour wanted": (gather_wanted, 50),
        f"twelve months of {len(plants)} plants": (strips, 100),
        "like, one treatment": (lambda: prints.like(f"{30 + next(count) % 50},2,20", "iron"), 30),
        "like, all treatments": (lambda: prints.like(f"{30 + next(count) % 50},2,20"), 30),
        "swap": (lambda: prints.swap("silver birch", near="Europe/Lisbon", on=day()), None),
        "palette of eight": (lambda: prints.palette(["silver birch", "Acer rubrum", "fig", "rose"] * 2), None),
        "expect, four treatments": (lambda: prints.expect("silver birch", near="Europe/Lisbon", on=day()), None),
        "calendar": (lambda: prints.calendar("silver birch", "Europe/Lisbon", 2000 + next(count) % 90), None),
    }


def cold(*arguments: str) -> object:
    """Run the command in a process of its own."""
    command = [sys.executable, "-m", "folioproof", *arguments, "--json"]
    return subprocess.run(command, capture_output=True, check=False)


def show(label: str, taken: list[float], goal: float | None) -> None:
    """Print one row of the table."""
    middle = statistics.median(taken)
    verdict = "" if goal is None else f"{goal:7.0f}  {'ok' if middle <= goal else 'TOO SLOW'}"
    print(f"{label:<34} {middle:8.1f} {max(taken):8.1f} {verdict}")


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--runs", type=int, default=21)
    runs = parser.parse_args().runs
    path = ready_database()
    print(f"{'milliseconds':<34} {'median':>8} {'slowest':>8} {'goal':>7}")
    with Reference.open(path) as reference:
        for label, (ask, goal) in questions(reference).items():
            show(label, timed(ask, runs), goal)
    few = max(3, runs // 4)
    show(
        "expect, a process of its own", timed(lambda: cold("expect", "silver birch", "--treatment", "iron"), few), None
    )
    show("gather, a process of its own", timed(lambda: cold("gather", "--near", "Europe/Lisbon"), few), None)


if __name__ == "__main__":
    main()
