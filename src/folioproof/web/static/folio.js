// Type-ahead for the question box: names only, by keyboard or pointer. Without it the box works as it is.
(() => {
  const box = document.querySelector("[data-suggest]");
  if (!box) return;
  const input = box.querySelector("input");
  const list = document.createElement("ul");
  list.id = "names-list";
  list.className = "names-list";
  list.setAttribute("role", "listbox");
  list.setAttribute("aria-label", "Names in the records");
  list.hidden = true;
  box.append(list);
  for (const [key, value] of [["role", "combobox"], ["aria-autocomplete", "list"], ["aria-expanded", "false"], ["aria-controls", list.id]]) {
    input.setAttribute(key, value);
  }
  let chosen = -1;
  let typed = 0;
  let waiting;

  const close = () => {
    list.hidden = true;
    chosen = -1;
    input.setAttribute("aria-expanded", "false");
    input.removeAttribute("aria-activedescendant");
  };
  const choose = (number) => {
    const items = [...list.children];
    chosen = (number + items.length) % items.length;
    items.forEach((item, i) => item.setAttribute("aria-selected", String(i === chosen)));
    input.setAttribute("aria-activedescendant", items[chosen].id);
    items[chosen].scrollIntoView({ block: "nearest" });
  };
  const take = (item) => {
    input.value = item.textContent;
    close();
    input.focus();
  };
  const show = (names) => {
    list.replaceChildren(...names.map((name, i) => {
      const item = document.createElement("li");
      item.id = `name-${i}`;
      item.setAttribute("role", "option");
      item.setAttribute("aria-selected", "false");
      item.textContent = name;
      item.addEventListener("mousedown", (event) => { event.preventDefault(); take(item); });
      return item;
    }));
    chosen = -1;
    list.hidden = names.length === 0;
    input.setAttribute("aria-expanded", String(!list.hidden));
  };
  const ask = async () => {
    const turn = ++typed;
    const text = input.value.trim();
    if (text.length < 2) return close();
    try {
      const answer = await fetch(`${box.dataset.suggest}?q=${encodeURIComponent(text)}`);
      const names = answer.ok ? (await answer.json()).names : [];
      // An answer that comes after a newer question, or after the box was left, is dropped.
      if (turn === typed && document.activeElement === input) show(names);
    } catch { close(); }
  };
  input.addEventListener("input", () => { clearTimeout(waiting); waiting = setTimeout(ask, 120); });
  input.addEventListener("blur", close);
  input.addEventListener("keydown", (event) => {
    if (event.key === "Escape") { typed++; return close(); }
    if (list.hidden) return;
    if (event.key === "ArrowDown" || event.key === "ArrowUp") {
      event.preventDefault();
      choose(event.key === "ArrowDown" ? chosen + 1 : Math.max(chosen, 0) - 1);
    } else if (event.key === "Enter" && chosen >= 0) {
      event.preventDefault();
      take(list.children[chosen]);
    }
  });
})();

// Season where you are: the browser's own time zone stands in for a place until you write another. Nothing is stored.
(() => {
  const zone = Intl.DateTimeFormat().resolvedOptions().timeZone;
  const sections = document.querySelectorAll("[data-near]");
  if (!zone || zone === "UTC") return sections.forEach((section) => section.classList.add("settled"));
  document.querySelectorAll("[data-zone]").forEach((field) => { if (!field.value) field.value = zone; });
  if (new URLSearchParams(location.search).get("near")) return;
  sections.forEach(async (section) => {
    try {
      const answer = await fetch(`${section.dataset.near}?near=${encodeURIComponent(zone)}`);
      if (!answer.ok) return;
      const page = new DOMParser().parseFromString(await answer.text(), "text/html");
      const fresh = page.getElementById(section.id);
      if (fresh && !section.contains(document.activeElement)) section.replaceWith(fresh);
    } catch { /* the form in the section still works */ }
  });
})();
