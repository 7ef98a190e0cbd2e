"""Places and dates as a person writes them, read into coordinates and a day.

Nothing finer than 0.1 degree is kept, so that a place never points at a house. Time-zone cities come from the
public-domain `zone.tab` in the tzdata package, countries and regions from ISO 3166 as pycountry carries it.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from functools import cache
from typing import TYPE_CHECKING, Literal, NoReturn

from .finding import RefusedInputError

if TYPE_CHECKING:
    from importlib.resources.abc import Traversable

How = Literal["coordinates", "time zone", "country", "region"]

WIDE_DEGREES = 5.0
"""A country whose time-zone cities lie further apart than this, north to south, is too tall for one calendar."""
NEAR_KM = 500.0
"""A time-zone city further away than this says nothing about a place."""
FAR_KM = 2500.0
"""No place in a country lies further from its time-zone cities: the tip of India is 2,000 km from Kolkata."""
_EARTH_RADIUS_KM = 6371.0
_EARLIEST_YEAR, _LATEST_YEAR = 1900, 2100
_LONGEST = 80
"""No place or date is written with more characters than this; what is refused is repeated in one line."""

_FORMS = (
    "Write latitude,longitude such as 38.7,-9.1, a time zone such as Europe/Lisbon, "
    "or an ISO 3166 code such as PT or PT-11"
)
_NUMBER = r"[+-]?\d+(?:\.\d*)?"
_COORDINATES = re.compile(rf"({_NUMBER})\s*,\s*({_NUMBER})", re.ASCII)
_DECIMAL_COMMAS = re.compile(r"([+-]?\d+),(\d+)\s*[,; ]\s*([+-]?\d+),(\d+)", re.ASCII)
_ISO_6709 = re.compile(r"([+-])(\d{2})(\d{2})(\d{2})?([+-])(\d{3})(\d{2})(\d{2})?")
_ABBREVIATION = re.compile(r"[A-Z]{3}(?:\d[A-Z]{3})?")
_COUNTRY_CODE = re.compile(r"[A-Z]{2,3}", re.ASCII)
_REGION_CODE = re.compile(r"[A-Z]{2}-[A-Z0-9]{1,3}", re.ASCII)
_DATE = re.compile(r"(\d{4})-(\d{2})-(\d{2})", re.ASCII)


@dataclass(frozen=True, slots=True)
class Place:
    """A place good enough for a calendar: a tenth of a degree (WGS84), and what is known about where it is."""

    name: str
    latitude: float
    longitude: float
    country: str | None
    subdivision: str | None
    how: How
    spread_degrees: float = 0.0
    note: str = ""

    @property
    def is_wide(self) -> bool:
        """Whether the place is too tall, north to south, for one calendar."""
        return self.spread_degrees > WIDE_DEGREES


@dataclass(frozen=True, slots=True)
class Zone:
    """A city of `zone.tab`: its time zone, ISO 3166-1 alpha-2 country and coordinates."""

    name: str
    country: str
    latitude: float
    longitude: float


def read_place(text: str) -> Place:
    """Read coordinates, a time zone or an ISO 3166 code; what cannot be read is refused in one line."""
    words = " ".join(text.split()).replace("\N{MINUS SIGN}", "-")
    if not words:
        _refuse("no place is given", _FORMS)
    if len(words) > _LONGEST:
        _refuse(f"a place of {len(words)} letters is not known here", _FORMS)
    if re.match(r"[+-]?\d", words):
        return _coordinates(words)
    code = words.upper()
    if _REGION_CODE.fullmatch(code):
        return _region(code)
    if _COUNTRY_CODE.fullmatch(code) and (found := _country(code)):
        return found
    return _time_zone(words)


def nearest_zone(latitude: float, longitude: float) -> tuple[Zone, float] | None:
    """Return the nearest time-zone city and its distance in km; None when there is none within `NEAR_KM`."""
    zone = min(_zones().values(), key=lambda each: _km(latitude, longitude, each))
    distance = _km(latitude, longitude, zone)
    return (zone, distance) if distance <= NEAR_KM else None


def country_of_zone(name: str) -> str | None:
    """Return the ISO 3166-1 alpha-2 code of a time zone's country; None for a zone that is not known here."""
    zone = _zones().get(_aliases().get(name, name))
    return zone.country if zone else None


def region_of_zone(name: str) -> str | None:
    """Return the region that bears the name of a time zone's city, or the country where it has no regions."""
    country = country_of_zone(name)
    if country is None:
        return None
    regions = regions_of(country)
    city = name.rsplit("/", 1)[-1].replace("_", " ").casefold()
    return next((code for code, said in regions if said.casefold() == city), None) if regions else country


def regions_of(country: str) -> list[tuple[str, str]]:
    """Return codes and names of a country's ISO 3166-2 regions, by code; none for a country that has none."""
    import pycountry

    found = pycountry.subdivisions.get(country_code=country) or ()  # type: ignore[no-untyped-call]
    return sorted((each.code, each.name) for each in found)


def region_problem(code: str) -> tuple[str, str] | None:
    """Return what is wrong with an ISO 3166-2 code, and the remedy; a country that has no regions stands for itself."""
    import pycountry

    if not (country := pycountry.countries.get(alpha_2=code[:2])):
        return (
            f"{code} is not an ISO 3166-2 code",
            "Write one such as PT-11: the country's code, a hyphen, the region's",
        )
    regions = [region for region, _ in regions_of(code[:2])]
    if code in (regions or [code[:2]]):
        return None
    few = f"{', '.join(regions[:12])}{' and others' if len(regions) > 12 else ''}" if regions else code[:2]
    return f"{code} is not a region of {country.name} in ISO 3166-2", f"Write one of {few}"


def far_from_country(latitude: float, longitude: float, country: str) -> float | None:
    """Return the distance in km to the nearest time-zone city of a country when it is beyond `FAR_KM`, else None."""
    cities = [zone for zone in _zones().values() if zone.country == country]
    distance = min((_km(latitude, longitude, zone) for zone in cities), default=0.0)
    return distance if distance > FAR_KM else None


def read_date(text: str) -> date:
    """Read an ISO 8601 calendar date; what cannot be read is refused in one line."""
    words = text.strip()
    form = "Write year-month-day, such as 2026-05-09"
    if len(words) > _LONGEST:
        _refuse(f"a date has ten characters, not {len(words)}", form)
    if not (match := _DATE.fullmatch(words)):
        _refuse(f"{words!r} is not an ISO 8601 date" if words else "no date is given", form)
    year, month, day = (int(part) for part in match.groups())
    if not _EARLIEST_YEAR <= year <= _LATEST_YEAR:
        _refuse(f"{words} is out of range", f"Write a year from {_EARLIEST_YEAR} to {_LATEST_YEAR}")
    if not 1 <= month <= 12:
        _refuse(f"{words} has no month {match[2]}", f"{form}, with a month from 01 to 12")
    last = ((date(year + month // 12, month % 12 + 1, 1)) - date(year, month, 1)).days
    if not 1 <= day <= last:
        _refuse(f"{words} does not exist", f"Write a day from 01 to {last} for {words[:7]}")
    return date(year, month, day)


def _refuse(problem: str, remedy: str) -> NoReturn:
    raise RefusedInputError(f"{problem}. {remedy}.")


def _coordinates(words: str) -> Place:
    if match := _DECIMAL_COMMAS.fullmatch(words):
        latitude, part, longitude, other = match.groups()
        _refuse(f"{words!r} has decimal commas", f"Write decimal points: {latitude}.{part},{longitude}.{other}")
    if not (match := _COORDINATES.fullmatch(words)):
        _refuse(f"{words!r} is not latitude,longitude in decimal degrees", "Write them such as 38.7,-9.1")
    latitude, longitude = (round(float(number), 1) + 0.0 for number in match.groups())
    exact_latitude, exact_longitude = float(match[1]), float(match[2])
    if abs(exact_latitude) > 90:
        swapped = abs(exact_longitude) <= 90 and abs(exact_latitude) <= 180
        _refuse(
            f"latitude {match[1]} is not between -90 and 90",
            f"Latitude comes first: write {match[2]},{match[1]} if the two were swapped"
            if swapped
            else "Write latitude,longitude in decimal degrees, such as 38.7,-9.1",
        )
    if abs(exact_longitude) > 180:
        _refuse(f"longitude {match[2]} is not between -180 and 180", "Write degrees west as negative numbers")
    return Place(
        name=f"{latitude:g},{longitude:g}",
        latitude=latitude,
        longitude=longitude,
        country=_sole_country(latitude, longitude),
        subdivision=None,
        how="coordinates",
        note=_neighbour(latitude, longitude),
    )


def _sole_country(latitude: float, longitude: float) -> str | None:
    """Return the country of every time-zone city nearby; None when they differ, for a guess could be wrong."""
    near = {zone.country for zone in _zones().values() if _km(latitude, longitude, zone) <= NEAR_KM}
    return near.pop() if len(near) == 1 else None


def _neighbour(latitude: float, longitude: float) -> str:
    if not (found := nearest_zone(latitude, longitude)):
        return f"no time-zone city within {NEAR_KM:g} km"
    zone, distance = found
    return f"the nearest time-zone city is {zone.name}, about {round(distance, -1):g} km away"


def _time_zone(words: str) -> Place:
    known = _zone_names()
    name = known.get(words.replace(" ", "_").lower())
    if name is None:
        _refuse(f"{words!r} is not a place that is known here", _suggestion(words, known.values()))
    target = _aliases().get(name, name)
    zone = _zones()[target]
    note = "" if target == name else f"{name} is another name of {target}, whose coordinates are used"
    return Place(
        name=name,
        latitude=round(zone.latitude, 1),
        longitude=round(zone.longitude, 1),
        country=zone.country,
        subdivision=None,
        how="time zone",
        note=note,
    )


def _suggestion(words: str, names: Iterable[str]) -> str:
    """Say what to write instead: a country's code for its name, else the time zones that look alike."""
    import pycountry
    from rapidfuzz import fuzz, process

    try:
        return f"Write {pycountry.countries.lookup(words).alpha_2} for that country"
    except LookupError:
        pass
    if words.upper() == "UK":
        return "Write GB for the United Kingdom"
    wanted = words.replace(" ", "_").lower()
    cities = {name: name.lower() if "/" in wanted else name.lower().rsplit("/", 1)[-1] for name in names}
    near = process.extract(wanted, cities, scorer=fuzz.ratio, limit=3, score_cutoff=80)
    if near:
        return f"Write {' or '.join(name for _, _, name in near)}"
    return _FORMS


def _country(code: str) -> Place | None:
    """Return the middle of a country's time-zone cities; None when no country has the code."""
    import pycountry

    countries = pycountry.countries
    found = countries.get(alpha_2=code) if len(code) == 2 else countries.get(alpha_3=code)
    if found is None:
        return None
    name = getattr(found, "common_name", found.name)
    cities = [zone for zone in _zones().values() if zone.country == found.alpha_2]
    if not cities:
        _refuse(f"{name} has no time-zone city", "Write latitude,longitude such as 38.7,-9.1")
    cities.sort(key=lambda zone: zone.latitude)
    spread = round(cities[-1].latitude - cities[0].latitude, 1)
    note = ""
    if spread > WIDE_DEGREES:
        # An average of far-off islands may lie in the sea; the middle city is at least a place.
        cities = [cities[len(cities) // 2]]
        note = f"{name} reaches {spread:g} degrees from north to south: a time zone or coordinates would be closer"
    return Place(
        name=name,
        latitude=round(sum(zone.latitude for zone in cities) / len(cities), 1),
        longitude=round(_mean_longitude(cities), 1),
        country=found.alpha_2,
        subdivision=None,
        how="country",
        spread_degrees=spread,
        note=note,
    )


def _region(code: str) -> Place:
    """Return the place of the region's country under the region's name; ISO 3166-2 carries no coordinates."""
    import pycountry

    found = pycountry.subdivisions.get(code=code)  # type: ignore[no-untyped-call]
    country = _country(code[:2])
    if country is None:
        _refuse(f"{code} is not an ISO 3166-2 code", "Write one such as PT-11, or a country such as PT")
    if found is None:
        _refuse(f"{code} is not an ISO 3166-2 code", f"Write {code[:2]} for {country.name}, or a code of its regions")
    note = f"the coordinates are those of {country.name} as a whole"
    return Place(
        name=f"{found.name}, {country.name}",
        latitude=country.latitude,
        longitude=country.longitude,
        country=country.country,
        subdivision=code,
        how="region",
        spread_degrees=country.spread_degrees,
        note=f"{note}; {country.note}" if country.note else note,
    )


def _mean_longitude(cities: list[Zone]) -> float:
    """Mean the directions, not the numbers: some countries lie on both sides of 180 degrees."""
    angles = [math.radians(city.longitude) for city in cities]
    return math.degrees(math.atan2(sum(map(math.sin, angles)), sum(map(math.cos, angles))))


def _km(latitude: float, longitude: float, zone: Zone) -> float:
    north, south = math.radians(latitude), math.radians(zone.latitude)
    half_turn = math.sin(math.radians(longitude - zone.longitude) / 2) ** 2
    chord = math.sin((north - south) / 2) ** 2 + math.cos(north) * math.cos(south) * half_turn
    return 2 * _EARTH_RADIUS_KM * math.asin(math.sqrt(min(1.0, chord)))


def _tzdata() -> Traversable:
    from importlib.resources import files

    return files("tzdata") / "zoneinfo"


@cache
def _zones() -> dict[str, Zone]:
    """Read `zone.tab`: country code, coordinates in ISO 6709, name of the zone."""
    return {name: Zone(name, country, *_iso_6709(where)) for country, where, name, *_ in _rows("zone.tab")}


def _rows(table: str) -> list[list[str]]:
    lines = (_tzdata() / table).read_text(encoding="utf-8").splitlines()
    return [line.split("\t") for line in lines if line and not line.startswith("#")]


def _iso_6709(where: str) -> tuple[float, float]:
    if not (match := _ISO_6709.fullmatch(where)):
        raise ValueError(where)
    degrees = [
        (-1 if sign == "-" else 1) * (int(whole) + int(minutes) / 60 + int(seconds or 0) / 3600)
        for sign, whole, minutes, seconds in (match.groups()[:4], match.groups()[4:])
    ]
    return degrees[0], degrees[1]


@cache
def _aliases() -> dict[str, str]:
    """Old names of zones that keep the time of one country only.

    Others are no guide to a place: the tz database links Iceland to Africa/Abidjan, which keeps the same time.
    """
    of_one_country = {columns[2] for columns in _rows("zone1970.tab") if "," not in columns[0]} & _zones().keys()
    links = dict[str, str]()
    for line in (_tzdata() / "tzdata.zi").read_text(encoding="utf-8").splitlines():
        if line.startswith("L "):
            _, target, name = line.split()
            if target in of_one_country and name not in _zones() and not _ABBREVIATION.fullmatch(name):
                links[name] = target
    return links


@cache
def _zone_names() -> dict[str, str]:
    return {name.lower(): name for name in (*_aliases(), *_zones())}
