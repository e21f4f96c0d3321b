// Keeps what is typed into a form on this device until it has arrived, so that a lost connection loses nothing.
"use strict";
(() => {
  const place = (name) => `kept-${name}`;
  const stored = (name) => {
    try { return JSON.parse(localStorage.getItem(place(name)) || "null"); } catch { return null; }
  };
  const store = (name, value) => {
    try {
      if (value === null) localStorage.removeItem(place(name));
      else localStorage.setItem(place(name), JSON.stringify(value));
    } catch { /* a full or closed store only loses this comfort */ }
  };
  for (const done of document.querySelectorAll("[data-clear]")) store(done.dataset.clear, null);
  for (const form of document.querySelectorAll("form[data-keep]")) {
    const name = form.dataset.keep;
    const fields = () => [...form.elements].filter((field) => field.name && field.name !== "form_token" && field.type !== "file");
    const kept = stored(name);
    if (form.dataset.fresh && kept && (kept.text || kept.a || kept.b || kept.work)) restore(kept);
    form.addEventListener("input", () => {
      const values = {};
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
  }
})();
