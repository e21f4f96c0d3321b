// Keeps what is typed into a form on this device until it has arrived, so that a lost connection loses nothing.
// Each part, pair of parts or job has a draft of its own (data-keep), so that none opens under another.
"use strict";
(() => {
  const place = (name) => `kept-${name}`;
  const AT = " at"; // the address of a draft's form; no field has a name with a blank
  const stored = (name) => {
    try { return JSON.parse(localStorage.getItem(place(name)) || "null"); } catch { return null; }
  };
  const store = (name, value) => {
    try {
      if (value === null) localStorage.removeItem(place(name));
      else localStorage.setItem(place(name), JSON.stringify(value));
    } catch { /* a full or closed store only loses this comfort */ }
  };
  const names = () => {
    try { return Object.keys(localStorage).filter((key) => key.startsWith("kept-")).map((key) => key.slice(5)); } catch { return []; }
  };
  const says = (values) => Object.entries(values).some(([name, value]) => ["text", "work", "hours", "cash", "reason"].includes(name) && value);
  for (const done of document.querySelectorAll("[data-clear]")) store(done.dataset.clear, null);
  for (const form of document.querySelectorAll("form[data-keep]")) {
    const name = form.dataset.keep;
    const fields = () => [...form.elements].filter((field) => field.name && field.name !== "form_token" && field.type !== "file");
    const kept = stored(name);
    const at = document.querySelector("[role=alert]") ? (kept && kept[AT]) || "" : location.pathname + location.search;
    if (form.dataset.fresh && kept && (says(kept) || kept.a || kept.b)) restore(kept);
    if (form.dataset.fresh) tellOthers();
    form.addEventListener("input", () => {
      const values = { [AT]: at };
      for (const field of fields()) values[field.name] = field.type === "checkbox" ? (field.checked ? field.value : "") : field.value;
      store(name, values);
    });
    function restore(values) {
      for (const field of fields()) {
        if (!(field.name in values)) continue;
        if (field.type === "checkbox") field.checked = values[field.name] === field.value;
        else field.value = values[field.name];
      }
      const line = document.createElement("p");
      line.className = "sheet";
      line.setAttribute("role", "status");
      line.append("What you typed before is back. ");
      const away = document.createElement("button");
      away.type = "button";
      away.className = "plain";
      away.textContent = "Start empty";
      away.addEventListener("click", () => { store(name, null); location.reload(); });
      line.append(away);
      form.before(line);
    }
    function tellOthers() {
      const others = names().filter((other) => other !== name).map((other) => [other, stored(other)])
        .filter(([, values]) => values && values[AT] && says(values));
      if (!others.length) return;
      const line = document.createElement("p");
      line.className = "sheet";
      line.append("Typed here and not sent yet: ");
      for (const [other, values] of others.slice(0, 10)) {
        const link = document.createElement("a");
        link.className = "target";
        link.href = values[AT].startsWith("/notebook/") ? values[AT] : "/notebook/new";
        link.textContent = [values.a, values.b, values.text].filter(Boolean).join(", ").slice(0, 60) || other;
        line.append(link, " ");
      }
      form.before(line);
    }
  }
})();
