// Which plants a name may mean, in the order of matching.py: the exact name, an abbreviated genus, near names, the
// genus, nothing. A match has a status, hits (the plants shown) and a radius (all plants whose level is weighed).

function match(names, typed) {
  const text = asPython(typed);
  if ([...text].length > MAX_QUERY) return { status: "unknown", hits: [], radius: new Set(), guards: [] };
  const readings = variants(text), guards = guardHits(names, readings);
  const found = matchExact(names, readings) || matchInitial(names, text) || matchNear(names, readings) ||
    matchGenus(names, readings) || { status: "unknown", hits: [], radius: new Set() };
  if (guards.length && found.status === "exact" && ![...found.radius].every((each) => names.dangerous(each))) {
    found.status = "ambiguous";
  }
  return { ...found, guards };
}

function guardHits(names, readings) {
  const found = new Set();
  for (const { folded } of readings) {
    for (const piece of [folded, ...folded.split(" ")]) {
      for (const guard of names.guards.get(piece) || []) if (guard.isHazardWord || piece === folded) found.add(guard);
    }
  }
  return [...found];
}

const hitOf = (name, distance) => ({ taxon: name.taxon, name: name.name, kind: name.kind, distance, spoken: name.spoken });

function matchExact(names, readings) {
  for (const reading of readings) {
    const owners = names.exact.get(reading.folded) || [];
    const hits = new Map([...owners].reverse().map((name) => [name.taxon, hitOf(name, 0)]));
    const shared = names.homonyms.get(reading.folded);
    for (const taxon of shared ? shared.taxa : []) {
      if (!hits.has(taxon)) hits.set(taxon, { taxon, name: shared.word, kind: "shared name", distance: 0 });
    }
    if (hits.size) return decideExact(names, reading, owners, hits);
  }
  return null;
}

function decideExact(names, reading, owners, hits) {
  const genera = [...hits.keys()].filter((each) => names.isGenus(each));
  const spoken = owners.every((name) => name.spoken);
  const isGenus = genera.length > 0 && (hits.size === 1 || !spoken);
  if (spoken) {
    for (const [taxon, name] of names.heads.get(reading.folded) || []) {
      if (!hits.has(taxon)) hits.set(taxon, { taxon, name, kind: "name ending", distance: 0 });
    }
  }
  if (!isGenus && hits.size === 1) {
    for (const near of names.alerts.get(reading.folded) || []) hits.set(near.taxon, { ...hitOf(near, 1), kind: "spelling" });
  }
  const radius = new Set(hits.keys());
  for (const genus of genera) for (const each of names.genusMembers(genus)) radius.add(each);
  const found = { status: "genus", hits: [...hits.values()], radius };
  if (isGenus) return found;
  if (hits.size > 1 || owners.some((n) => n.shared || n.kind === "!")) return { ...found, status: "ambiguous" };
  const known = (owners.find((n) => n.author) || { author: "" }).author;
  return { ...found, status: !reading.lossless || authorsDiffer(reading.authors, known) ? "confirm" : "exact" };
}

function matchInitial(names, text) {
  const short = INITIAL.exec(text.trim());
  if (!short) return null;
  const hits = new Map();
  for (const name of names.epithets.get(normalise(short[2])) || []) {
    if (name.folded.startsWith(short[1].toLowerCase())) hits.set(name.taxon, hitOf(name, 0));
  }
  if (!hits.size) return null;
  return { status: hits.size === 1 ? "confirm" : "ambiguous", hits: [...hits.values()], radius: new Set(hits.keys()) };
}

function matchNear(names, readings) {
  for (const { folded } of readings) {
    const near = nearTaxa(names, folded);
    const ordered = [...near].sort((a, b) => a[1].distance - b[1].distance || a[0] - b[0]);
    const best = ordered.length ? ordered[0][1].distance : TOO_FAR;
    if (best >= TOO_FAR) continue;
    const hits = ordered.filter(([, found]) => found.distance <= best + 1).map(([, found]) => found);
    const close = ordered.filter(([, found]) => found.distance - best < 1).map(([taxon]) => taxon);
    const radius = new Set(near.keys());
    for (const each of close) if (names.isGenus(each)) for (const one of names.genusMembers(each)) radius.add(one);
    const status = [...folded].length <= TOO_SHORT ? "unknown" : close.length === 1 ? "confirm" : "ambiguous";
    return { status, hits, radius };
  }
  return null;
}

function nearTaxa(names, folded) {
  const found = new Map();
  nearStrings(names, folded, (key, distance) => {
    for (const name of names.exact.get(key)) {
      const known = found.get(name.taxon);
      if (!known || distance < known.distance) found.set(name.taxon, { ...hitOf(name, distance), kind: "spelling" });
    }
  });
  return found;
}

function nearStrings(names, folded, take) {
  if (folded.length < 3) return;
  const near = names.prepare(), letters = folded.split(" ").join(""), limit = editLimit(folded.length);
  for (const entry of near.letters.get(letters) || []) take(entry.folded, HALF_EDIT);
  if (names.exact.has(letters)) take(letters, HALF_EDIT);
  for (const key of near.sound.get(soundKey(folded)) || []) {
    if (edits(folded, key, limit + 1) <= limit + 1) take(key, HALF_EDIT);
  }
  if (limit === 0) return;
  const reach = limit + (folded.length > 7 ? 2 : 1), ours = bits(folded);
  for (const entry of likely(near, folded, reach)) {
    if (!mayBeNear(ours, entry.bits, reach)) continue;
    const distance = edits(folded, entry.folded, reach);
    if (distance > reach) continue;
    const longer = Math.max(limit, editLimit(entry.folded.length));
    take(entry.folded, distance <= longer && wordsFit(folded, entry.folded, longer) ? distance : distance + TOO_FAR);
  }
}

function likely(near, folded, reach) {
  const words = folded.split(" "), first = words[0], found = new Set();
  const wordReach = Math.max(1, editLimit(first.length + 1)), ours = bits(first);
  const keep = (entries) => {
    for (const entry of entries || []) if (Math.abs(entry.folded.length - folded.length) <= reach) found.add(entry);
  };
  for (let length = first.length - wordReach; length <= first.length + wordReach; length++) {
    for (const each of near.byLength.get(length) || []) {
      if (mayBeNear(ours, each.bits, wordReach) && edits(first, each.word, wordReach) <= wordReach) keep(near.first.get(each.word));
    }
  }
  if (words.length > 1) keep(near.last.get(words[words.length - 1]));
  if (words.length > 1 || folded.length <= 7) return found;
  // Names of several words that were written as one, with a slip besides.
  for (let length = folded.length - 1; length <= folded.length + 1; length++) {
    for (const end of ends(folded)) {
      for (const each of near.ends.get(`${length} ${end}`) || []) if (edits(folded, each, 1) <= 1) keep(near.letters.get(each));
    }
  }
  return found;
}

// Slips are spread: each word stays within the limit of its own length.
function wordsFit(query, name, limit) {
  const ours = query.split(" "), theirs = name.split(" ");
  if (ours.length !== theirs.length || ours.length === 1) return true;
  return ours.every((word, i) => {
    const most = Math.min(limit, Math.max(editLimit(word.length), editLimit(theirs[i].length)) + 1);
    return edits(word, theirs[i], most) <= most;
  });
}

function matchGenus(names, readings) {
  for (const { folded } of readings) {
    const words = folded.split(" ");
    if (words.length < 2 || !/^[\0-\x7f]*$/.test(folded)) continue;
    const members = [...(names.genera.get(words[0]) || [])].sort((a, b) => a - b);
    if (!members.length) continue;
    const genera = members.filter((each) => names.isGenus(each)), heads = genera.length ? genera : members.slice(0, 5);
    const radius = new Set(members);
    for (const each of heads) for (const one of names.genusMembers(each)) radius.add(one);
    const name = words[0][0].toUpperCase() + words[0].slice(1);
    return { status: "genus", hits: heads.map((taxon) => ({ taxon, name, kind: "genus", distance: 0 })), radius };
  }
  return null;
}

// -- levels --------------------------------------------------------------------------------------------------------

const worstOf = (levels) => (levels.length ? Math.max(...levels) : NOT_ASSESSED);

// The level of a plant's own leaf in the company `group`, a list of numbers: the worst of those who are in the room.
const ownLevel = (names, taxon, group) => worstOf(group.map((company) => names.level(taxon, company)));

// The level of a plant as lists show it: a genus or family has the worst of its plants, and never ordinary care.
function shownLevel(names, taxon, group) {
  const wide = names.plants.ranks[taxon] === GENUS || names.plants.ranks[taxon] === FAMILY;
  const meant = names.withMembers(names.isGenus(taxon) ? names.genusMembers(taxon) : [taxon]);
  const level = worstOf(meant.map((each) => ownLevel(names, each, group)));
  return wide && level === ORDINARY ? NOT_ASSESSED : level;
}

// What `text` may mean, the level to act on, and the plant that this level is about. Any text gets an answer.
function lookUp(names, text, group) {
  const found = match(names, text), { plants } = names;
  const meant = names.withMembers(found.radius);
  const distant = new Map(found.hits.map((hit) => [hit.taxon, [Number(hit.kind === "name ending"), hit.distance]]));
  let level = worstOf(meant.map((each) => ownLevel(names, each, group)));
  const isThin = (taxon) => Number(group.some((company) => plants.verdicts[plants.judged[plants.judgement[taxon]][company]][1]));
  const order = (taxon) => [DANGEROUS_FIRST.indexOf(ownLevel(names, taxon, group)), Number(!distant.has(taxon)), isThin(taxon),
    ...(distant.get(taxon) ?? [0, 0]), -plants.gravity[taxon], taxon];
  const actingOn = meant.map(order).sort(byKey).map((key) => key.at(-1))[0];
  if (found.status !== "exact") {
    if (level === ORDINARY) level = NOT_ASSESSED;
    if (found.guards.length && (found.status === "unknown" || found.status === "confirm")) level = LEAVE_OUT;
  }
  const candidates = found.hits.map((hit) => ({ ...hit, level: shownLevel(names, hit.taxon, group) }));
  if (found.status === "ambiguous" || found.status === "genus") {
    const place = (c) => [DANGEROUS_FIRST.indexOf(c.level), Number(c.kind === "name ending"), c.distance, -plants.gravity[c.taxon], c.taxon];
    candidates.sort((a, b) => byKey(place(a), place(b)));
  }
  return { status: found.status, level, candidates, actingOn, guards: found.guards, radius: found.radius.size };
}

function byKey(a, b) {
  for (let i = 0; i < a.length; i++) if (a[i] !== b[i]) return a[i] - b[i];
  return 0;
}
