// The page of the field pack: one question and its answer, what to gather, and how old the pack is. Nothing is sent
// anywhere and nothing is kept. All text goes in as text, never as markup.

const PLANTS = JSON.parse(document.getElementById("plants").textContent);
const HERE = JSON.parse(document.getElementById("here").textContent);
const MARKS = ["ordinary", "extra", "unknown", "out"];
const STATUS_WORDS = {
  exact: "The records know this name, and it means one plant.",
  confirm: "The records do not have this name, only names near it. Confirm which plant you hold.",
  ambiguous: "This name may mean more than one plant. Until you know which, the most dangerous counts.",
  genus: "Only the genus is known, so the worst of its species counts.",
  unknown: "No record has this name. Leave the plant out until you can name it.",
};
const GRADE_WORDS = ["does not print", "leaves a trace", "prints in part", "prints clearly", "prints in full"];
const COMPANY_WORDS = ["grown-ups only", "a class", "children", "animals"];
const KIND_WORDS = { "=": "accepted name", "+": "old name", "!": "a name often misapplied to it", "?": "a spelling really met",
  "name ending": "its name ends in the same word", "shared name": "shares the name", genus: "only the genus is known" };
const OLD_LEVEL = "out of date: check again";
const A_DAY = 86400000, NEAR_ITS_DAY = 14;

let built;
const names = () => built || (built = new Names(PLANTS));
const scientific = (taxon) => PLANTS.names[taxon].slice(2).split(/[|~^*]/, 1)[0];
const byId = (id) => document.getElementById(id);
const sentence = (text) => text && text[0].toUpperCase() + text.slice(1) + (/[.!?]$/.test(text) ? "" : ".");

// -- pieces ------------------------------------------------------------------------------------------------------

function make(tag, properties = {}, ...children) {
  const element = document.createElement(tag);
  for (const [key, value] of Object.entries(properties)) {
    if (key === "class") element.className = value;
    else element.setAttribute(key, value);
  }
  element.append(...children.flat(2).filter((child) => child !== null && child !== ""));
  return element;
}

function draw(tag, properties, ...children) {
  const element = document.createElementNS("http://www.w3.org/2000/svg", tag);
  for (const [key, value] of Object.entries(properties)) element.setAttribute(key, value);
  element.append(...children);
  return element;
}

const mark = (level) => draw("svg", { class: "mark", "aria-hidden": "true" }, draw("use", { href: `#m-${MARKS[level]}` }));

const levelMark = (level) => make("span", { class: `level level-${MARKS[level]}` }, mark(level), PLANTS.levels[level],
  isStale() ? make("span", { class: "old" }, ` (${OLD_LEVEL})`) : null);

function blot(colour) {
  const paper = draw("rect", { x: 1, y: 1, width: 46, height: 46, fill: "#fdfcf8" });
  const inside = colour && colour[0]
    ? draw("rect", { x: 11, y: 11, width: 26, height: 26, fill: colour[0], filter: `url(#edge-${Math.min(7, Math.round(colour[2] / 4))})` })
    : draw("path", { d: "M14 34 34 14", fill: "none", stroke: "#8a7a60", "stroke-width": 2 });
  return draw("svg", { class: "blot", viewBox: "0 0 48 48", "aria-hidden": "true" }, paper, inside);
}

// The name of a plant; a button that asks for it where `asks` is true.
function plantName(taxon, asks) {
  const name = make("i", {}, scientific(taxon)), common = PLANTS.common[taxon];
  const shown = asks ? make("button", { class: "name", type: "button" }, name) : name;
  if (asks) shown.addEventListener("click", () => ask(scientific(taxon)));
  return [shown, common ? make("span", { class: "soft" }, ` ${common}`) : null];
}

const section = (title, ...children) => make("section", {}, make("h2", {}, title), ...children);

// -- how old the pack is -----------------------------------------------------------------------------------------

// Days since a date, by the calendar of this phone.
function daysSince(date) {
  const now = new Date();
  return Math.round((Date.UTC(now.getFullYear(), now.getMonth(), now.getDate()) - Date.parse(`${date}T00:00:00Z`)) / A_DAY);
}

// A clock that is before the day the pack was made tells nothing, so the pack counts as old then.
const isStale = () => daysSince(HERE.made) > HERE.goodFor || daysSince(HERE.made) < -1;

function showAge() {
  const days = daysSince(HERE.made), banner = byId("age");
  banner.hidden = !isStale();
  if (!isStale()) return;
  const why = days < 0
    ? `The clock of this device is before ${HERE.made}, when this pack was made, so its age cannot be told.`
    : `This pack was made on ${HERE.made}, ${days} days ago; it is good for ${HERE.goodFor}.`;
  banner.replaceChildren(make("b", {}, "Out of date. "),
    `${why} Levels rise as more is learned: check every plant again before you pick it, and make a new pack.`);
}

// -- an answer ---------------------------------------------------------------------------------------------------

const company = () => [0, ...[...document.querySelectorAll("#company input:checked")].map((box) => Number(box.value))];

function companyWords(group) {
  return group.length === 1 ? COMPANY_WORDS[0] : ["grown-ups", ...group.slice(1).map((each) => COMPANY_WORDS[each])].join(", ");
}

const verdicts = (taxon, group) => group.map((each) => PLANTS.verdicts[PLANTS.judged[PLANTS.judgement[taxon]][each]]);

function reasonsOf(taxon, group) {
  const numbers = new Set(verdicts(taxon, group).flatMap((verdict) => verdict[2]));
  return [...numbers].map((number) => PLANTS.reasons[number]).sort((a, b) => b[0] - a[0]);
}

// The reason for a level in one sentence: about the plant where there is one, else about the name.
function headline(found, group) {
  const ofPlant = found.actingOn === undefined ? [] : reasonsOf(found.actingOn, group);
  const deciding = ofPlant.find((reason) => reason[0] === found.level);
  if (deciding) return sentence(deciding[1]);
  if (found.guards.length) return "A word in the name speaks of poison, or belongs to a dangerous plant.";
  if (found.status === "unknown") return "No record has this name: leave it out until you can name the plant.";
  return "The name is not exact: the worst of the plants it may mean counts, and never ordinary care.";
}

function verdictBox(found, group) {
  return make("div", { class: `verdict verdict-${MARKS[found.level]}` }, mark(found.level), make("div", {},
    make("p", { class: "word" }, sentence(PLANTS.levels[found.level]).slice(0, -1)),
    isStale() ? make("p", { class: "old" }, sentence(OLD_LEVEL)) : null,
    make("p", { class: "reason" }, headline(found, group)),
    make("p", { class: "scope" }, `For the leaf, ${companyWords(group)}.`)));
}

function whyMatched(hit) {
  if (hit.kind === "spelling") {
    return hit.distance === HALF_EDIT ? `sounds like ${hit.name}` : `spelling, ${hit.distance} ${hit.distance === 1 ? "letter" : "letters"} off: ${hit.name}`;
  }
  const said = KIND_WORDS[hit.kind] || `${PLANTS.languages[hit.kind] || "common"} name`;
  return hit.name === scientific(hit.taxon) ? said : `${said}: ${hit.name}`;
}

function candidateList(found) {
  const items = found.candidates.map((hit) => make("li", {}, plantName(hit.taxon, true), " ", levelMark(hit.level),
    make("span", { class: "soft" }, whyMatched(hit))));
  const title = items.length === 1 ? (found.status === "genus" ? "The genus" : "The one plant it comes near") : `It may mean any of these ${items.length}`;
  return section(title, make("ul", { class: "candidates" }, items));
}

function tellApart(found) {
  const meant = new Set(found.candidates.map((hit) => hit.taxon)), lines = [];
  for (const taxon of meant) {
    for (const [other, how] of PLANTS.mistaken[taxon] || []) {
      if (meant.has(other)) lines.push(make("li", {}, make("i", {}, scientific(taxon)), " from ", make("i", {}, scientific(other)), `: ${sentence(how)}`));
    }
  }
  return lines.length ? section("How to tell them apart", make("ul", { class: "plain" }, lines)) : null;
}

function identifyFirst(taxon, group) {
  const others = PLANTS.mistaken[taxon];
  if (!others) return null;
  const items = others.map(([other, how]) => make("li", {}, levelMark(shownLevel(names(), other, group)), " ", plantName(other, true), `: ${sentence(how)}`));
  return make("section", { class: "identify" }, make("h2", {}, "Identify first"),
    make("p", {}, "It is taken for a plant that must be left out, by everyone or of a class. If in doubt, leave it."), make("ul", {}, items));
}

function stepList(taxon, group) {
  const lines = new Set(taxon === undefined ? [] : verdicts(taxon, group).flatMap((verdict) => verdict[3]).filter((each) => !PLANTS.usual.includes(each)));
  for (const each of PLANTS.usual) lines.add(each);
  const items = PLANTS.steps.map((step, number) => make("li", {}, draw("svg", { class: "step", "aria-hidden": "true" }, draw("use", { href: `#s-${step}` })),
    make("h3", {}, sentence(step).slice(0, -1)),
    make("ul", {}, [...lines].filter((each) => PLANTS.lines[each][0] === number)
      .map((each) => make("li", PLANTS.usual.includes(each) ? { class: "usual" } : {}, PLANTS.lines[each][1])))));
  return section("At each step", make("ol", { class: "steps" }, items));
}

// What is known of a colour, in words: `now` is the grade in season, where a list gives one.
function colourWords(colour, metal, now) {
  const grade = GRADE_WORDS[now === undefined ? colour[3] : now];
  if (!colour[0]) return [make("b", {}, `With ${metal}: `), `colour not known; ${grade}`];
  return [make("b", {}, `With ${metal}: ${PLANTS.words[colour[1]]}`), make("span", { class: "soft" }, ` ${colour[0]}, give or take ${colour[2]}`), `; ${grade}`];
}

function colourList(taxon) {
  const items = ["alum", "iron"].map((metal, i) => [metal, PLANTS.colours[i][taxon]]).filter(([, colour]) => colour)
    .map(([metal, colour]) => make("li", {}, blot(colour), make("div", {}, colourWords(colour, metal), make("span", { class: "said" }, PLANTS.words[colour[4]]))));
  if (!items.length) return section("On paper", make("p", { class: "soft" }, "Nothing is known of its colour."));
  return section("On paper", make("ul", { class: "swatches" }, items));
}

function seasonWords(taxon) {
  const season = HERE.seasons[HERE.season[taxon]];
  if (!season || season[3] === "not known") return "Its season here is not known.";
  const [stage, strength, until, sure, inSeason] = season;
  const days = until && inSeason ? `, until about ${until}` : "";
  return `${sentence(stage).slice(0, -1)}, at ${Math.round(strength * 100)} % of its best${days} (dates ${sure})${inSeason ? "" : "; out of season"}.`;
}

const isItsDay = () => Math.abs(daysSince(HERE.on)) <= NEAR_ITS_DAY;
const otherDay = () => (isItsDay() ? "" : ` That is for ${HERE.on}, not for today.`);

function answer(text, group) {
  const found = lookUp(names(), text, group), sure = found.status === "exact", acting = found.actingOn;
  const parts = [make("p", { class: "asked-for" }, text), verdictBox(found, group), make("p", { class: "status" }, make("b", {}, STATUS_WORDS[found.status]),
    !sure && acting !== undefined ? [" The worst it may mean is ", make("i", {}, scientific(acting)), "."] : "")];
  for (const { word, means } of found.guards) {
    parts.push(make("p", { class: "warning" }, make("b", {}, "Take care with the name: "), sentence(`'${word}' is a warning: ${means}`)));
  }
  if (acting !== undefined) parts.push(identifyFirst(acting, group));
  if (sure) {
    parts.push(section("The plant", make("p", { class: "taxon" }, plantName(acting, false))));
    for (const note of PLANTS.local[acting] || []) parts.push(make("p", { class: "warning" }, `${sentence(note)} Check your local rules.`));
    if (found.level < NOT_ASSESSED) parts.push(colourList(acting), section(`Season at ${HERE.place}`, make("p", {}, seasonWords(acting) + otherDay())));
  } else if (found.candidates.length) parts.push(candidateList(found), tellApart(found));
  if (acting !== undefined) {
    const lines = reasonsOf(acting, group).map(([level, reason]) => make("li", {}, level === ORDINARY ? null : [levelMark(level), " "], sentence(reason)));
    parts.push(section(sure ? "Why" : `Why: ${scientific(acting)}`, make("ul", { class: "reasons" }, lines)));
  }
  parts.push(stepList(acting, group));
  byId("answer").replaceChildren(...parts.filter(Boolean));
  const about = acting === undefined ? "" : ` ${scientific(acting)}.`;
  byId("spoken").textContent = `${isStale() ? "Out of date. " : ""}${sentence(PLANTS.levels[found.level])}${about} ${STATUS_WORDS[found.status]}`;
}

let asked = "";

// The answer takes the focus: a phone folds its keyboard away, and reading goes on from there.
function ask(text) {
  asked = text.trim();
  if (!asked) return byId("q").focus();
  byId("q").value = asked;
  showAge();
  answer(asked, company());
  byId("answer").hidden = false;
  byId("answer").focus();
  byId("answer").scrollIntoView({ block: "start" });
}

// -- what to gather ----------------------------------------------------------------------------------------------

// A plant that may not be used in the company that is ticked now is never listed, whoever the pack was made for.
function gatherList() {
  const group = company();
  const rows = HERE.gather.map((row) => [row, shownLevel(names(), row[0], group)]).filter(([, level]) => level < NOT_ASSESSED);
  const items = rows.map(([[taxon, alum, iron, grows], level]) => make("li", {},
    make("div", { class: "blots" }, [alum, iron].map((now, i) => (now === null ? null : blot(PLANTS.colours[i][taxon])))),
    make("div", {}, make("h3", {}, plantName(taxon, true)), make("p", {}, levelMark(level)),
      (PLANTS.mistaken[taxon] || []).map(([other, how]) => make("p", { class: "warning" }, make("b", {}, "Identify first. "), "Taken for ", make("i", {}, scientific(other)), `: ${sentence(how)} If in doubt, leave it.`)),
      [alum, iron].map((now, i) => (now === null ? null : make("p", {}, colourWords(PLANTS.colours[i][taxon], ["alum", "iron"][i], now), isItsDay() ? " now." : " then."))),
      make("p", { class: "soft" }, seasonWords(taxon), grows === null ? " Whether it grows here is not recorded." : ""),
      (PLANTS.local[taxon] || []).map((note) => make("p", { class: "soft" }, `${sentence(note)} Check your local rules.`)))));
  byId("gather-note").textContent = `${items.length || "No"} plants, the strongest print first; ${companyWords(group)}; on paper.${otherDay()}`;
  byId("gather-list").replaceChildren(...items);
}

function showFoot() {
  byId("cautions").replaceChildren(...HERE.cautions.map((text) => make("li", {}, text)));
  byId("helplines").replaceChildren(...HERE.helplines.map(([country, region, name, number, hours]) => make("p", {},
    make("span", { class: "country" }, region ? `${country} (${region})` : country), " ", make("b", { class: "number" }, number), " ",
    make("span", { class: "soft" }, `${name}${hours ? `; ${hours}` : ""}; check locally`))));
}

// -- beginning -----------------------------------------------------------------------------------------------------

function begin() {
  for (const box of document.querySelectorAll("#company input")) {
    box.checked = HERE.company.includes(Number(box.value));
    box.addEventListener("change", () => {
      gatherList();
      if (asked) answer(asked, company());
    });
  }
  byId("ask").addEventListener("submit", (event) => {
    event.preventDefault();
    ask(byId("q").value);
  });
  byId("q").addEventListener("input", () => {
    const found = byId("q").value.trim().length > 1 ? names().startingWith(byId("q").value, 8) : [];
    byId("known").replaceChildren(...found.map((name) => make("option", { value: name })));
  });
  document.addEventListener("visibilitychange", showAge);
  showAge();
  showFoot();
  // The page is drawn first; the names are read after that, and what misspelt ones need once nothing else waits.
  setTimeout(() => {
    gatherList();
    byId("waiting").hidden = true;
    setTimeout(() => names().prepare(), 0);
  }, 0);
}

begin();
