"""Run by hand: how often the 90 % intervals of contributed evidence hold the true rate.

Worlds are made: a plant's true strength scatters about what its record expects, countries about the world, regions
about their country, people about their region, prints about their maker (normal on a latent scale, cut into five
grades). So the worlds are not drawn from the model that the intervals assume (beta distributions with fixed
correlations). People differ in how much they print: most print once or twice, a few dozens of times.

`python tests/benchmarks/evidence_coverage.py 1500` gave (share of intervals that hold the truth, and their mean width):

    scene                             region         country           world     all
    usual                        91.2 % 0.31     91.2 % 0.25     91.7 % 0.22  91.4 %
    few people                   91.5 % 0.38     91.7 % 0.32     91.6 % 0.28  91.6 %
    many people                  90.8 % 0.20     92.2 % 0.19     93.3 % 0.19  92.1 %
    people much alike            89.9 % 0.30     91.0 % 0.25     90.4 % 0.22  90.4 %
    people very different        91.7 % 0.32     92.0 % 0.26     92.2 % 0.23  92.0 %
    places alike                 96.2 % 0.31     96.1 % 0.25     96.7 % 0.22  96.3 %
    places very different        79.8 % 0.31     81.8 % 0.25     82.8 % 0.22  81.5 %
    record near the truth        90.5 % 0.33     90.7 % 0.27     91.2 % 0.23  90.8 %
    record often wrong           91.4 % 0.29     91.6 % 0.24     91.9 % 0.21  91.6 %
    all scenes                                                                90.9 %

The correlations are constants, so that they are too wide where places hardly differ and too narrow where they differ
much more than was assumed.
"""

from __future__ import annotations

import random
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from statistics import NormalDist

from folioproof.evidence import CountRow, evidence

NORMAL = NormalDist()


@dataclass(frozen=True)
class Scene:
    """How far things scatter on the latent scale (prints of one person: 1), and how many people print."""

    name: str
    record: float = 0.9
    country: float = 0.35
    region: float = 0.35
    person: float = 0.9
    people: int = 4


SCENES = (
    Scene("usual"),
    Scene("few people", people=1),
    Scene("many people", people=25),
    Scene("people much alike", person=0.5),
    Scene("people very different", person=1.3),
    Scene("places alike", country=0.15, region=0.15),
    Scene("places very different", country=0.6, region=0.6),
    Scene("record near the truth", record=0.5),
    Scene("record often wrong", record=1.3),
)


def made_world(scene: Scene, rng: random.Random) -> tuple[list[CountRow], list[float], dict[str, tuple[float, float]]]:
    """Return prints, what the record expects, and the true (clear, at all) rate of region AA-1, country AA, world."""
    expected = [rng.gammavariate(1.0, 1.0) + 0.15 for _ in range(5)]
    expected = [each / sum(expected) for each in expected]
    everything = (1 + scene.person**2 + scene.region**2 + scene.country**2) ** 0.5
    # Where the latent scale is cut, so that without an error of the record its shares come out.
    cuts = [-everything * NORMAL.inv_cdf(sum(expected[grade:])) for grade in range(1, 5)]
    world = rng.gauss(0, scene.record)
    truth = {"world": rates(world, cuts, everything)}
    rows: list[CountRow] = []
    for country in range(rng.randint(1, 8)):
        of_country = world + rng.gauss(0, scene.country)
        if country == 0:
            truth["country"] = rates(of_country, cuts, (1 + scene.person**2 + scene.region**2) ** 0.5)
        for region in range(rng.randint(1, 6)):
            of_region = of_country + rng.gauss(0, scene.region)
            name = f"{'ABCDEFGH'[country] * 2}"
            if country == region == 0:
                truth["region"] = rates(of_region, cuts, (1 + scene.person**2) ** 0.5)
            rows += prints(scene, name, f"{name}-{region + 1}", of_region, cuts, rng)
    return rows, expected, truth


def rates(middle: float, cuts: list[float], deviation: float) -> tuple[float, float]:
    """Return how often a print of anybody at a place is clear, and how often there is one at all."""
    return NORMAL.cdf((middle - cuts[2]) / deviation), NORMAL.cdf((middle - cuts[1]) / deviation)


def prints(
    scene: Scene, country: str, region: str, middle: float, cuts: list[float], rng: random.Random
) -> Iterator[CountRow]:
    """Yield what the people of one region printed."""
    for person in range(1 + min(200, int(rng.expovariate(1 / scene.people)))):
        own = middle + rng.gauss(0, scene.person)
        for _ in range(min(60, int(rng.paretovariate(1.0)))):
            counts = [0] * 5
            came_out = rng.gauss(own, 1)
            counts[sum(came_out > cut for cut in cuts)] = 1
            none, trace, partial, clear, full = counts
            month = rng.randint(1, 12)
            yield CountRow(country, region, month, f"{region}-{person}", (none, trace, partial, clear, full))


def coverage(scene: Scene, worlds: int, seed: int = 7) -> dict[str, tuple[float, float]]:
    """Return for each kind of place the share of intervals that hold the truth, and their mean width."""
    rng = random.Random(seed)
    held: dict[str, list[tuple[bool, float]]] = {"region": [], "country": [], "world": []}
    asked = {"region": ("AA", "AA-1"), "country": ("AA", None), "world": (None, None)}
    for _ in range(worlds):
        rows, expected, truth = made_world(scene, rng)
        for kind, (country, region) in asked.items():
            found = evidence(rows, expected, country=country, region=region)
            assert found is not None
            for rate, true in zip((found.clear, found.at_all), truth[kind], strict=True):
                held[kind].append((rate.low <= true <= rate.high, rate.high - rate.low))
    return {
        kind: (sum(hit for hit, _ in each) / len(each), sum(width for _, width in each) / len(each))
        for kind, each in held.items()
    }


def main() -> None:
    worlds = int(sys.argv[1]) if len(sys.argv) > 1 else 2000
    sys.stdout.write(f"{'scene':24}{'region':>16}{'country':>16}{'world':>16}{'all':>8}\n")
    every: list[float] = []
    for scene in SCENES:
        found = coverage(scene, worlds)
        mean = sum(share for share, _ in found.values()) / 3
        every.append(mean)
        cells = "".join(f"{100 * share:9.1f} % {width:.2f}" for share, width in found.values())
        sys.stdout.write(f"{scene.name:24}{cells}{100 * mean:6.1f} %\n")
    sys.stdout.write(f"{'all scenes':24}{'':48}{100 * sum(every) / len(every):6.1f} %\n")


if __name__ == "__main__":
    main()
