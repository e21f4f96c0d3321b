// Small helps for the pages; everything works without this file.
"use strict";
document.documentElement.classList.add("scripted");

// Search as you type in a long list: words typed above it leave only the choices that hold all of them.
function narrow(select) {
  const every = [...select.querySelectorAll("option")].filter((option) => option.value);
  if (every.length < 8) return;
  const label = select.dataset.narrow;
  const box = document.createElement("input");
  box.type = "search";
  box.autocomplete = "off";
  box.className = "narrow";
  box.setAttribute("aria-label", `Type to narrow: ${label}`);
  box.placeholder = "Type to narrow the list";
  const told = document.createElement("span");
  told.className = "unseen";
  told.setAttribute("role", "status");
  select.before(box, told);
  box.addEventListener("input", () => {
    const words = box.value.toLowerCase().split(/\s+/).filter(Boolean);
    const fitting = every.filter((option) => {
      const group = option.closest("optgroup");
      const text = `${option.text} ${option.value} ${group ? group.label : ""}`.toLowerCase();
      return words.every((word) => text.includes(word));
    });
    for (const option of every) option.hidden = option.disabled = !fitting.includes(option);
    for (const group of select.querySelectorAll("optgroup")) group.hidden = ![...group.children].some((one) => !one.hidden);
    if (words.length && fitting.length && !fitting.includes(select.selectedOptions[0])) fitting[0].selected = true;
    told.textContent = `${fitting.length} of ${every.length}` + (fitting.length === 1 ? `: ${fitting[0].text}` : "");
  });
  box.addEventListener("keydown", (event) => {
    if (event.key === "Enter" || event.key === "ArrowDown") {
      event.preventDefault();
      select.focus();
    }
  });
}

// Search as you type where there are more choices than a page can hold: the field's list follows what is typed.
function search(field) {
  let waiting = 0;
  field.addEventListener("input", () => {
    clearTimeout(waiting);
    waiting = setTimeout(async () => {
      const text = field.value.trim();
      if (text.length < 2) return;
      const asked = new URLSearchParams({ what: field.dataset.search, text });
      const response = await fetch(`/ask/choices?${asked}`).catch(() => null);
      if (!response || !response.ok || field.value.trim() !== text) return;
      const found = (await response.json()).map(({ id, label }) => {
        const option = document.createElement("option");
        option.value = id;
        option.textContent = label;
        return option;
      });
      if (found.length) field.list.replaceChildren(...found);
    }, 150);
  });
}

// A field that takes one more: when it is filled, an empty one follows.
function takeMore(field) {
  // With the first letter, not on leaving the field: a page that grows under a press takes the press away.
  field.addEventListener("input", () => {
    if (!field.value) return;
    const next = field.cloneNode();
    next.value = "";
    next.id = `${field.id}-more`;
    next.setAttribute("aria-label", "Add a further part");
    field.after(next);
    takeMore(next);
    search(next);
  }, { once: true });
}

// What takes longer is fetched after the page is there, and put in its place.
async function fill(section) {
  const told = document.createElement("p");
  told.setAttribute("role", "status");
  told.textContent = "Working it out \u2026";
  section.append(told);
  try {
    const response = await fetch(section.dataset.fill, { headers: { accept: "text/html" } });
    if (!response.ok) throw new Error(String(response.status));
    const page = new DOMParser().parseFromString(await response.text(), "text/html");
    const found = page.getElementById(section.id);
    section.replaceChildren(...found.childNodes);
  } catch {
    told.textContent = "It could not be worked out just now; the link above tries again.";
  }
}

for (const select of document.querySelectorAll("select[data-narrow]")) narrow(select);
for (const field of document.querySelectorAll("input[data-search]")) search(field);
for (const field of document.querySelectorAll("input[data-more]")) takeMore(field);
for (const section of document.querySelectorAll("[data-fill]")) fill(section);

// What is folded away for a small screen is open on a large one, and on paper.
const folded = (chosen) => [...document.querySelectorAll(chosen)].filter((one) => !one.open);
if (matchMedia("(min-width: 60rem)").matches) for (const one of folded("details[data-wide]")) one.open = true;
let opened = [];
addEventListener("beforeprint", () => {
  opened = folded("main details");
  for (const one of opened) one.open = true;
});
addEventListener("afterprint", () => { for (const one of opened) one.open = false; });
