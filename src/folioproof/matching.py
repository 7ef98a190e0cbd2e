"""Which plants a name may mean, without ever making a dangerous plant look safe.

Pure and read-only once built, so one index serves many threads. The rules, in the order they are tried: the exact
name; the same letters without spaces, or the same sound; optimal-string-alignment distance within a limit that grows
with the length; the genus; nothing. Whole names only: no partial, token-set or prefix score may select a plant.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import replace
from functools import cached_property
from typing import TypeVar

from rapidfuzz.distance import OSA
from rapidfuzz.process import extract_iter

from .matches import Guard, Hit, IndexedName, IndexedTaxon, Match
from .nomenclature import LANGUAGES, Variant, authors_differ, initial, variants
from .text import Folded, normalise, sound_key
from .vocabulary import GuardKind, NameKind, Status

K = TypeVar("K", str, int)

#: A slip in a name this short makes another name: near ones are shown, but none is taken for what was meant.
_TOO_SHORT = 4

_TOO_FAR = 100.0

#: Weight of a match by equal sound or equal letters, in edits.
HALF_EDIT = 0.5


def edit_limit(length: int) -> int:
    """Return how many edits a name of this length may differ by: 0, 1, 2 or 3 up to 3, 7, 12 or more letters."""
    return 0 if length <= 3 else 1 if length <= 7 else 2 if length <= 12 else 3


class NameIndex:
    """All names, looked up by string, letters, sound and distance."""

    def __init__(
        self,
        names: Iterable[IndexedName],
        taxa: Iterable[IndexedTaxon],
        guards: Iterable[Guard] = (),
        homonyms: Iterable[tuple[Folded, str, str]] = (),
        alerts: Iterable[tuple[Folded, str, str]] = (),
    ) -> None:
        """Build the look-ups; `homonyms` are (folded word, word, taxon id), `alerts` (folded name, near name, id)."""
        self._taxa = {taxon.taxon_id: taxon for taxon in taxa}
        self._exact: defaultdict[str, list[IndexedName]] = defaultdict(list)
        self._heads: defaultdict[str, dict[str, str]] = defaultdict(dict)
        self._epithets: defaultdict[str, list[IndexedName]] = defaultdict(list)
        self._genera: defaultdict[str, set[str]] = defaultdict(set)
        for name in names:
            self._add(name)
        self._guards: defaultdict[str, list[Guard]] = defaultdict(list)
        for guard in guards:
            self._guards[guard.folded].append(guard)
        self._homonyms: defaultdict[str, dict[str, str]] = defaultdict(dict)
        for folded, word, taxon_id in homonyms:
            self._homonyms[folded][taxon_id] = word
        self._alerts: defaultdict[str, dict[str, str]] = defaultdict(dict)
        for folded, near, taxon_id in alerts:
            self._alerts[folded][taxon_id] = near

    def _add(self, name: IndexedName) -> None:
        self._exact[name.folded].append(name)
        words = name.folded.split()
        taxon = self._taxa[name.taxon_id]
        if name.kind is NameKind.VERNACULAR:
            if taxon.dangerous and len(words) > 1:
                self._heads[words[-1]].setdefault(name.taxon_id, name.name)
            return
        if len(words) > 1:
            self._epithets[words[1]].append(name)
        if name.kind is not NameKind.MISAPPLIED and not (taxon.is_genus and name.kind is NameKind.SYNONYM):
            self._genera[words[0]].add(name.taxon_id)

    # What only a misspelt name needs is put together when the first one comes: an exact answer is there sooner.

    @cached_property
    def _joined(self) -> dict[str, list[str]]:
        """Names of several words, by their letters without the spaces."""
        return _grouped((folded.replace(" ", ""), folded) for folded in self._exact if " " in folded)

    @cached_property
    def _sound(self) -> dict[str, list[str]]:
        return _grouped((names[0].sound, folded) for folded, names in self._exact.items())

    @cached_property
    def _by_first_word(self) -> dict[str, list[str]]:
        return _grouped((folded.partition(" ")[0], folded) for folded in sorted(self._exact))

    @cached_property
    def _joined_ends(self) -> dict[str, list[str]]:
        """Letters of names of several words, by length and first four, and by length and last four."""
        ends = ((f"{len(letters)} {end}", letters) for letters in self._joined for end in _ends(letters))
        return _grouped(ends)

    @cached_property
    def _by_last_word(self) -> dict[str, list[str]]:
        return _grouped((folded.rpartition(" ")[2], folded) for folded in sorted(self._exact) if " " in folded)

    @cached_property
    def _first_words_by_length(self) -> dict[int, list[str]]:
        return _grouped((len(word), word) for word in self._by_first_word)

    def match(self, text: str) -> Match:
        """Return what `text` may mean. Never raises on any text; the empty text is unknown."""
        readings = variants(text)
        guards = self._guard_hits(readings)
        found = (
            self._match_exact(readings)
            or self._match_initial(text)
            or self._match_near(readings)
            or self._match_genus(readings)
            or Match(Status.UNKNOWN, (), frozenset())
        )
        if guards and found.status is Status.EXACT and not self._all_dangerous(found.radius):
            found = replace(found, status=Status.AMBIGUOUS)
        return replace(found, guards=guards)

    def genus_members(self, taxon_id: str) -> frozenset[str]:
        """Return every taxon that bears, or once bore, a name in the genus of the genus record `taxon_id`."""
        members = {taxon_id}
        for names in self._genera.values():
            if taxon_id in names:
                members |= names
        return frozenset(members)

    def starting_with(self, text: str, limit: int = 10) -> tuple[IndexedName, ...]:
        """Return up to `limit` names that begin with `text`, one a folded string: for type-ahead, never a level."""
        start = normalise(text)
        if not start:
            return ()
        found = [key for key in self._exact if key.startswith(start) and _well_spelt(self._exact[key])]
        found.sort(key=lambda key: (len(key.split()), len(key), key))
        return tuple(_well_spelt(self._exact[key])[0] for key in found[:limit])

    def _all_dangerous(self, taxon_ids: Iterable[str]) -> bool:
        return all(self._taxa[each].dangerous for each in taxon_ids)

    def _guard_hits(self, readings: tuple[Variant, ...]) -> tuple[Guard, ...]:
        found: dict[Guard, None] = {}
        for reading in readings:
            words = reading.folded.split()
            for piece in (reading.folded, *words):
                for guard in self._guards.get(piece, ()):
                    if guard.kind is GuardKind.HAZARD_WORD or piece == reading.folded:
                        found[guard] = None
        return tuple(found)

    # -- exact ---------------------------------------------------------------------------------------------------

    def _match_exact(self, readings: tuple[Variant, ...]) -> Match | None:
        for reading in readings:
            owners = list(self._exact.get(reading.folded, ()))
            hits = {name.taxon_id: self._exact_hit(name, reading) for name in reversed(owners)}
            for taxon_id, word in self._homonyms.get(reading.folded, {}).items():
                if taxon_id in self._taxa and taxon_id not in hits:
                    hits[taxon_id] = Hit(taxon_id, "shared name", word, 0, f"shares the name '{word}'")
            if hits:
                return self._decide_exact(reading, owners, hits)
        return None

    def _exact_hit(self, name: IndexedName, reading: Variant) -> Hit:
        said = _in_words(name)
        if not reading.lossless:
            said += f", {reading.said}"
        return Hit(name.taxon_id, name.kind.value, name.name, 0, said, name.language)

    def _decide_exact(self, reading: Variant, owners: list[IndexedName], hits: dict[str, Hit]) -> Match:
        genera = [each for each in hits if self._taxa[each].is_genus]
        vernacular = all(name.kind is NameKind.VERNACULAR for name in owners)
        if genera and (len(hits) == 1 or not vernacular):
            members = frozenset().union(*(self.genus_members(each) for each in genera))
            if vernacular:
                hits = {**hits, **self._head_hits(reading.folded, hits)}
            return Match(Status.GENUS, tuple(hits.values()), members | hits.keys())
        if vernacular:
            hits = {**hits, **self._head_hits(reading.folded, hits)}
        if len(hits) == 1:
            hits = {**hits, **self._alert_hits(reading.folded)}
        radius = frozenset(hits)
        for genus in genera:
            radius |= self.genus_members(genus)
        if len(hits) > 1 or any(n.shared or n.kind is NameKind.MISAPPLIED for n in owners):
            return Match(Status.AMBIGUOUS, tuple(hits.values()), radius)
        known = next((n.authorship for n in owners if n.authorship), "") or ""
        doubtful = not reading.lossless or authors_differ(reading.authors, known)
        return Match(Status.CONFIRM if doubtful else Status.EXACT, tuple(hits.values()), radius)

    def _head_hits(self, folded: str, hits: dict[str, Hit]) -> dict[str, Hit]:
        """Dangerous plants whose longer name ends in this one word: cherry laurel for laurel."""
        return {
            taxon_id: Hit(taxon_id, "name ending", name, 0, f"its name ends in the same word: {name}")
            for taxon_id, name in self._heads.get(folded, {}).items()
            if taxon_id not in hits
        }

    def _alert_hits(self, folded: str) -> dict[str, Hit]:
        """More dangerous plants with a name one slip of the pen away from this one."""
        return {
            taxon_id: Hit(taxon_id, "spelling", near, 1, f"one letter away: {near}")
            for taxon_id, near in self._alerts.get(folded, {}).items()
        }

    # -- abbreviated genus ------------------------------------------------------------------------------------------

    def _match_initial(self, text: str) -> Match | None:
        short = initial(text)
        if short is None:
            return None
        hits = {
            name.taxon_id: Hit(name.taxon_id, name.kind.value, name.name, 0, "genus abbreviated")
            for name in self._epithets.get(short.epithet, ())
            if name.folded.startswith(short.letter)
        }
        if not hits:
            return None
        status = Status.CONFIRM if len(hits) == 1 else Status.AMBIGUOUS
        return Match(status, tuple(hits.values()), frozenset(hits))

    # -- near names -----------------------------------------------------------------------------------------------

    def _match_near(self, readings: tuple[Variant, ...]) -> Match | None:
        for reading in readings:
            near = self._near(reading.folded)
            best = min((distance for distance, _ in near.values()), default=_TOO_FAR)
            if best >= _TOO_FAR:
                continue
            ordered = sorted(near.items(), key=lambda item: (item[1][0], item[0]))
            hits = tuple(self._near_hit(each, *found) for each, found in ordered if found[0] <= best + 1)
            close = [each for each, (distance, _) in ordered if distance - best < 1]
            genera = [each for each in close if self._taxa[each].is_genus]
            radius = frozenset(near).union(*(self.genus_members(each) for each in genera))
            status = Status.CONFIRM if len(close) == 1 else Status.AMBIGUOUS
            if len(reading.folded) <= _TOO_SHORT:
                status = Status.UNKNOWN
            return Match(status, hits, radius)
        return None

    def _near(self, folded: str) -> dict[str, tuple[float, IndexedName]]:
        """Return taxa within the danger radius: their least distance and the name that has it.

        A name beyond its limit is no candidate, though its plant still weighs: its distance is raised by _TOO_FAR.
        """
        found: dict[str, tuple[float, IndexedName]] = {}
        for key, distance in self._near_strings(folded):
            for name in self._exact[key]:
                if name.taxon_id not in found or distance < found[name.taxon_id][0]:
                    found[name.taxon_id] = (distance, name)
        return found

    def _near_strings(self, folded: str) -> Iterator[tuple[str, float]]:
        if len(folded) < 3:
            return
        letters = folded.replace(" ", "")
        for key in (*self._joined.get(letters, ()), *((letters,) if letters in self._exact else ())):
            yield key, HALF_EDIT
        limit = edit_limit(len(folded))
        for key in self._sound.get(sound_key(Folded(folded)), ()):
            if OSA.distance(folded, key, score_cutoff=limit + 1) <= limit + 1:
                yield key, HALF_EDIT
        if limit == 0:
            return
        reach = limit + (2 if len(folded) > 7 else 1)
        likely = self._likely(folded, reach)
        for key, distance, _ in extract_iter(folded, likely, scorer=OSA.distance, score_cutoff=reach):
            longer = max(limit, edit_limit(len(key)))
            fits = distance <= longer and _words_fit(folded, key, longer)
            yield key, float(distance if fits else distance + _TOO_FAR)

    def _likely(self, folded: str, reach: int) -> list[str]:
        """Return the names worth measuring: those whose first word is near, or whose last word is the same.

        Distinct first words are far fewer than names, so this costs a fraction of a scan of all names.
        """
        words = folded.split()
        found: dict[str, None] = {}
        word_reach = max(1, edit_limit(len(words[0]) + 1))
        for length in range(len(words[0]) - word_reach, len(words[0]) + word_reach + 1):
            bucket = self._first_words_by_length.get(length, ())
            for word, _, _ in extract_iter(words[0], bucket, scorer=OSA.distance, score_cutoff=word_reach):
                found.update(dict.fromkeys(self._by_first_word[word]))
        if len(words) > 1:
            found.update(dict.fromkeys(self._by_last_word.get(words[-1], ())))
        if len(words) == 1 and len(folded) > 7:
            found.update(dict.fromkeys(self._run_together(folded)))
        return [key for key in found if abs(len(key) - len(folded)) <= reach]

    def _run_together(self, folded: str) -> Iterator[str]:
        """Yield names of several words that were written as one, with a slip besides: coniummaculatm.

        One slip spares the first four letters or the last four, so only names that share either are measured.
        """
        for length in range(len(folded) - 1, len(folded) + 2):
            for end in _ends(folded):
                bucket = self._joined_ends.get(f"{length} {end}", ())
                for letters, _, _ in extract_iter(folded, bucket, scorer=OSA.distance, score_cutoff=1):
                    yield from self._joined[letters]

    def _near_hit(self, taxon_id: str, distance: float, name: IndexedName) -> Hit:
        if distance == HALF_EDIT:
            return Hit(taxon_id, "sound", name.name, distance, f"sounds like {name.name}", name.language)
        count = ("one letter", "two letters", "three letters", "four letters", "five letters")[int(distance) - 1]
        said = f"spelling, {count} off: {name.name}"
        return Hit(taxon_id, "spelling", name.name, distance, said, name.language)

    # -- genus ----------------------------------------------------------------------------------------------------

    def _match_genus(self, readings: tuple[Variant, ...]) -> Match | None:
        for reading in readings:
            words = reading.folded.split()
            if len(words) < 2 or not reading.folded.isascii():
                continue
            members = self._genera.get(words[0], set())
            if not members:
                continue
            heads = [each for each in sorted(members) if self._taxa[each].is_genus] or sorted(members)[:5]
            wide = frozenset(members).union(*(self.genus_members(each) for each in heads))
            said = f"only the genus {words[0].capitalize()} is known"
            hits = tuple(Hit(each, "genus", words[0].capitalize(), 0, said) for each in heads)
            return Match(Status.GENUS, hits, wide)
        return None


def _well_spelt(names: list[IndexedName]) -> list[IndexedName]:
    return [name for name in names if name.kind is not NameKind.MISSPELLING]


def _ends(letters: str) -> tuple[str, str]:
    return letters[:4], "-" + letters[-4:]


def _grouped(pairs: Iterable[tuple[K, str]]) -> dict[K, list[str]]:
    groups: defaultdict[K, list[str]] = defaultdict(list)
    for key, value in pairs:
        groups[key].append(value)
    return dict(groups)


def _words_fit(query: str, name: str, limit: int) -> bool:
    """Tell whether the edits are spread as slips are: each word within the limit of its own length.

    "Quercus alta" is not a slip for "Quercus alba" in a four-letter epithet alone: two plants may differ by less.
    """
    ours, theirs = query.split(), name.split()
    if len(ours) != len(theirs) or len(ours) == 1:
        return True
    return all(
        OSA.distance(a, b) <= min(limit, max(edit_limit(len(a)), edit_limit(len(b))) + 1)
        for a, b in zip(ours, theirs, strict=True)
    )


def _in_words(name: IndexedName) -> str:
    if name.kind is NameKind.VERNACULAR:
        return f"{LANGUAGES.get(name.language or '', 'common')} name"
    return {
        NameKind.ACCEPTED: "accepted name",
        NameKind.SYNONYM: "old name",
        NameKind.MISAPPLIED: "a name often misapplied to it",
        NameKind.MISSPELLING: "a spelling really met",
    }[name.kind]
