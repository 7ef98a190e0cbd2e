"use strict";
// Which plants a name may mean, and the level to act on: text.py, nomenclature.py, matching.py and reference.py of
// folioproof once more, for a page that has no server. The rules are explained there; a test compares every answer.
// Plants are numbers here, in the order of their ids. Levels are numbers too: 0 ordinary care, 1 extra care,
// 2 not assessed, 3 leave out; so are companies: 0 grown-ups, 1 a class, 2 children, 3 animals.

const MAX_QUERY = 200, TOO_SHORT = 4, TOO_FAR = 100, HALF_EDIT = 0.5;
const LEAVE_OUT = 3, NOT_ASSESSED = 2, ORDINARY = 0;
const DANGEROUS_FIRST = [3, 1, 2, 0]; // place of each level in a list: leave out, extra, not assessed, ordinary
const GENUS = "g", FAMILY = "f", A_CLASS = 1;

// -- text --------------------------------------------------------------------------------------------------------

const DIACRITICS = /[\u0300-\u036f\u1ab0-\u1aff\u1dc0-\u1dff\u20d0-\u20ff]/g;
const EXPANSIONS = { "æ": "ae", "œ": "oe", "ø": "o", "ł": "l", "đ": "d", "ð": "d", "þ": "th", "ı": "i", "ß": "ss", "ς": "σ",
  "ᲀ": "в", "ᲁ": "д", "ᲂ": "о", "ᲃ": "с", "ᲄ": "т", "ᲅ": "т", "ᲆ": "ъ", "ᲇ": "ѣ", "ᲈ": "ꙋ" };
const EXPANDED = new RegExp(`[${Object.keys(EXPANSIONS).join("")}]`, "g");
const DROPPED = /['’‘ʼʻ`´′]|\p{C}/gu;
const NO_LETTER = /[^\p{L}\p{N}\p{M}]/gu;
const RANK_MARKS = new Set(["subsp", "ssp", "var", "subvar", "f", "fo", "forma", "cv", "nothosubsp", "nothovar", "convar"]);

function foldCharacters(text) {
  if (/^[ -~]*$/.test(text)) return text.toLowerCase().replace(/['`]/g, "").replace(/[^a-z0-9]/g, " ");
  const plain = text.normalize("NFKD").replace(DIACRITICS, "").toLowerCase().normalize("NFC");
  return plain.replace(EXPANDED, (letter) => EXPANSIONS[letter]).replace(/\s/g, " ").replace(DROPPED, "").replace(NO_LETTER, " ");
}

function normalise(text) {
  let words = foldCharacters(text).split(" ").filter(Boolean);
  if (words.length > 1 && words[0] === "x") words = words.slice(1);
  const last = words.length - 1;
  return words.filter((word, i) => !(i > 0 && i < last && (word === "x" || (i > 1 && RANK_MARKS.has(word))))).join(" ");
}

const STARTS = { ae: "e", cn: "n", ct: "t", cz: "c", dj: "j", ea: "e", eu: "u", gn: "n", kn: "n", mc: "mac", mn: "n",
  oe: "e", qu: "q", ps: "s", pt: "t", ts: "s", wr: "r", x: "z" };
const LETTERS = { e: "i", o: "a", u: "i", y: "i", k: "c", z: "s", h: "" };
const soundsOfWords = [new Map(), new Map()];

function soundOfWord(word, foldEnding) {
  const known = soundsOfWords[Number(foldEnding)];
  if (!known.has(word)) {
    let said = word;
    const start = [word.slice(0, 2), word.slice(0, 1)].find((each) => STARTS[each]);
    if (start) said = STARTS[start] + word.slice(start.length);
    if (foldEnding && [...said].length > 4) said = said.replace(/(?:arum|[aeiouy][sm]|[aeiouy])$/, "a");
    const [head = "", ...rest] = said;
    const tail = rest.join("").replace(/ae/g, "i").replace(/ia/g, "a").replace(/oe/g, "i").replace(/oi/g, "a").replace(/sc/g, "s");
    known.set(word, (head + tail.replace(/[eouykzh]/g, (letter) => LETTERS[letter])).replace(/(.)\1+/gu, "$1"));
  }
  return known.get(word);
}

const soundKey = (folded) => folded.split(" ").map((word, i) => soundOfWord(word, i > 0)).join(" ");

// Optimal string alignment: one more than `most` when the distance is greater than `most`.
function edits(a, b, most) {
  if (a === b) return 0;
  if (Math.abs(a.length - b.length) > most) return most + 1;
  let twoBack = [], back = Array.from({ length: b.length + 1 }, (_, j) => j), leastBack = 0;
  for (let i = 1; i <= a.length; i++) {
    const row = [i];
    let least = i;
    for (let j = 1; j <= b.length; j++) {
      let cost = Math.min(row[j - 1] + 1, back[j] + 1, back[j - 1] + (a[i - 1] === b[j - 1] ? 0 : 1));
      if (i > 1 && j > 1 && a[i - 1] === b[j - 2] && a[i - 2] === b[j - 1]) cost = Math.min(cost, twoBack[j - 2] + 1);
      row.push(cost);
      if (cost < least) least = cost;
    }
    if (least > most && leastBack > most) return most + 1;
    [twoBack, back, leastBack] = [back, row, least];
  }
  return Math.min(back[b.length], most + 1);
}

// The letters of a string as bits. One edit changes two of them at most, so most strings need not be measured.
function bits(text) {
  let found = 0;
  for (let i = 0; i < text.length; i++) found |= 1 << (text.charCodeAt(i) & 31);
  return found;
}

function mayBeNear(a, b, most) {
  let differing = a ^ b, count = 0;
  for (; differing; differing &= differing - 1) count++;
  return count <= 2 * most;
}

const editLimit = (length) => (length <= 3 ? 0 : length <= 7 ? 1 : length <= 12 ? 2 : 3);

// -- readings of what was typed ----------------------------------------------------------------------------------

const QUOTED = /\s*(?:‘[^’]*’|'[^']*'(?=\s|$)|"[^"]*"|“[^”]*”)\s*/g;
const LEAF_WORD = /\s+(?:leaf|leaves|foliage)$/iu;
const BINOMIAL = new RegExp(
  "^((?:[x×]\\s*)?[A-Z][a-zë-]+\\s+(?:[x×]\\s*)?[a-zë-]{2,}(?:\\s+(?:subsp|ssp|var|subvar|f|fo|forma|nothosubsp|nothovar)\\.?" +
  "\\s+[a-zë-]{2,})?)\\s+((?:\\(|[A-ZÀ-Þ]|d'|de\\s|van\\s|von\\s).*)$");
const INITIAL = /^([A-Zıİ])\.\s*(?:[x×]\s*)?([a-zëıİ-]{3,})$/iu;
const OPEN_SPECIES = /^([A-Zıİ][a-zëıİ-]+)\s+(?:spp?|species)\.?$/iu;

// What Python takes for a space and this language does not, and the other way round.
const asPython = (text) => text.replace(/[\u001c-\u001f\u0085\r\u2028\u2029]/g, " ").replace(/\ufeff/g, "\u2060");

function variants(typed) {
  const text = typed.trim(), plain = typed.replace(QUOTED, " ").trim(), found = new Map();
  const add = (name, lossless, authors = "") => {
    const folded = normalise(name);
    if (folded && !found.has(folded)) found.set(folded, { folded, lossless, authors });
  };
  add(typed, true);
  const open = OPEN_SPECIES.exec(text);
  if (open) add(open[1], true);
  if (plain && plain !== text) add(plain, false);
  for (const [source, lossless] of [[text, true], [plain, false]]) {
    const match = BINOMIAL.exec(source);
    if (match) add(match[1], lossless, match[2]);
  }
  const halves = plain.split(",");
  if (halves.length === 2) add(`${halves[1]} ${halves[0]}`, false);
  const bare = plain.replace(LEAF_WORD, "");
  if (bare !== plain) add(bare, false);
  return [...found.values()];
}

const NO_AUTHOR = new Set(["ex", "et", "and", "in", "f", "de", "van", "von"]);
const authorWords = (text) => normalise(text.replace(/\d{4}/g, " ")).split(" ").filter((word) => word && !NO_AUTHOR.has(word));

function authorsDiffer(given, known) {
  const ours = authorWords(given), theirs = authorWords(known);
  return ours.length > 0 && theirs.length > 0 && !ours.some((a) => theirs.some((b) => a.startsWith(b) || b.startsWith(a)));
}

// -- the names ---------------------------------------------------------------------------------------------------

function into(map, key, value) {
  const list = map.get(key);
  if (list) list.push(value);
  else map.set(key, [value]);
}

// `plants` is what pack.py wrote: the names of each plant as runs "kind:name|name^author|name*" joined by "~", where
// * says that the name is shared. Kinds: = accepted, + old, ! misapplied, ? misspelt, else the tag of a language.
class Names {
  constructor(plants) {
    this.plants = plants;
    this.all = [];
    this.exact = new Map();
    this.heads = new Map();
    this.epithets = new Map();
    this.genera = new Map();
    plants.names.forEach((runs, taxon) => {
      for (const run of runs.split("~")) {
        const at = run.indexOf(":");
        for (const name of run.slice(at + 1).split("|")) this.add(run.slice(0, at), name, taxon);
      }
    });
    this.generaOf = new Map();
    for (const members of this.genera.values()) for (const each of members) into(this.generaOf, each, members);
    this.guards = new Map();
    for (const [word, isHazardWord, means] of plants.guards) into(this.guards, normalise(word), { word, isHazardWord, means });
    this.homonyms = new Map(plants.homonyms.map(([word, taxa]) => [normalise(word), { word, taxa }]));
    this.alerts = new Map();
    for (let i = 0; i < plants.alerts.length; i += 2) {
      const near = this.all[plants.alerts[i + 1]];
      into(this.alerts, this.all[plants.alerts[i]].folded, near);
    }
  }

  add(kind, written, taxon) {
    const shared = written.endsWith("*");
    const [name, author = ""] = (shared ? written.slice(0, -1) : written).split("^");
    const folded = normalise(name), spoken = !"=+!?".includes(kind);
    const entry = { name, kind, author, shared, spoken, folded, taxon };
    this.all.push(entry);
    into(this.exact, folded, entry);
    const words = folded.split(" ");
    if (spoken) {
      if (this.dangerous(taxon) && words.length > 1) {
        const last = words[words.length - 1];
        if (!this.heads.has(last)) this.heads.set(last, new Map());
        if (!this.heads.get(last).has(taxon)) this.heads.get(last).set(taxon, name);
      }
      return;
    }
    if (words.length > 1) into(this.epithets, words[1], entry);
    if (kind !== "!" && !(this.isGenus(taxon) && kind === "+")) {
      if (!this.genera.has(words[0])) this.genera.set(words[0], new Set());
      this.genera.get(words[0]).add(taxon);
    }
  }

  isGenus(taxon) {
    return this.plants.ranks[taxon] === GENUS;
  }

  level(taxon, company) {
    return this.plants.verdicts[this.plants.judged[this.plants.judgement[taxon]][company]][0];
  }

  dangerous(taxon) {
    return this.level(taxon, A_CLASS) === LEAVE_OUT;
  }

  genusMembers(taxon) {
    const members = new Set([taxon]);
    for (const set of this.generaOf.get(taxon) || []) for (const each of set) members.add(each);
    return members;
  }

  withMembers(taxa) {
    const meant = new Set(taxa);
    for (const each of taxa) {
      if (this.plants.ranks[each] !== FAMILY) continue;
      this.plants.family.forEach((family, genus) => {
        if (family === each && this.isGenus(genus)) for (const one of this.genusMembers(genus)) meant.add(one);
      });
    }
    return [...meant];
  }

  // What only a misspelt name needs is put together when the first one comes, or when the page has time.
  prepare() {
    if (this.near) return this.near;
    const near = { letters: new Map(), sound: new Map(), first: new Map(), last: new Map(), byLength: new Map(), ends: new Map() };
    for (const folded of this.exact.keys()) {
      const words = folded.split(" "), entry = { folded, bits: bits(folded) };
      into(near.sound, soundKey(folded), folded);
      into(near.first, words[0], entry);
      if (words.length === 1) continue;
      into(near.last, words[words.length - 1], entry);
      into(near.letters, words.join(""), entry);
    }
    for (const letters of near.letters.keys()) for (const end of ends(letters)) into(near.ends, `${letters.length} ${end}`, letters);
    for (const word of near.first.keys()) into(near.byLength, word.length, { word, bits: bits(word) });
    return (this.near = near);
  }

  // Names that begin so, for type-ahead: never a level.
  startingWith(text, limit) {
    const start = normalise(text), found = [];
    if (start) for (const [key, names] of this.exact) if (key.startsWith(start) && names.some((n) => n.kind !== "?")) found.push(key);
    found.sort((a, b) => a.split(" ").length - b.split(" ").length || a.length - b.length || (a < b ? -1 : 1));
    return found.slice(0, limit).map((key) => this.exact.get(key).find((n) => n.kind !== "?").name);
  }
}

const ends = (letters) => [letters.slice(0, 4), "-" + letters.slice(-4)];
