// Asks for the answer while a form is being filled in. Without this file the button does the same.
"use strict";
(() => {
  for (const form of document.querySelectorAll("form[data-live]")) {
    let timer = 0;
    let asked = 0;
    for (const field of form.querySelectorAll("input[data-most]")) slider(field);
    form.addEventListener("input", (event) => {
      if (event.target.closest("#write")) return; // what is written down with the readings changes no verdict
      if (["a", "b", "a_chosen", "b_chosen", "joint", "family"].includes(event.target.name)) return; // other fields come with these: by the button
      clearTimeout(timer);
      timer = setTimeout(ask, 350);
    });
    async function ask() {
      const mine = ++asked;
      const part = form.dataset.fragment; // where only what changes is had; the address then stays as it is
      const address = new URL(part || form.action, location.href);
      const sent = [...new FormData(form)].filter(([name, value]) => value !== "" && !(form.elements[name].closest?.("#write")));
      address.search = new URLSearchParams([...(part ? address.searchParams : []), ...sent]).toString();
      let text;
      try {
        const answer = await fetch(address, { headers: { accept: "text/html" } });
        text = await answer.text();
      } catch { return; } // no connection: the last answer stays, the button tries again
      if (mine !== asked) return;
      const page = new DOMParser().parseFromString(text, "text/html");
      if (!page.getElementById(form.dataset.live)) return refused(page);
      replace(form.dataset.live, page);
      for (const here of form.querySelectorAll(".known[id]")) replace(here.id, page);
      if (!part) history.replaceState(null, "", address);
    }
    function refused(page) { // an error page: its first fault, in place of an answer to other values
      const told = document.createElement("p");
      told.textContent = `Not taken, so there is no answer to it: ${page.querySelector("main li, main p")?.textContent.trim()}`;
      document.getElementById(form.dataset.live)?.replaceChildren(told);
    }
    function slider(field) {
      const bar = document.createElement("input");
      // By keyboard the field beside it takes the same number: no second stop on the way to the steps.
      Object.assign(bar, { type: "range", tabIndex: -1, min: 0, max: field.dataset.most, step: "any", value: field.value.replace(",", ".") });
      bar.setAttribute("aria-label", field.labels[0].firstChild.textContent.trim());
      bar.addEventListener("input", () => { field.value = String(Math.round(bar.value)); });
      field.addEventListener("input", () => { bar.value = field.value.replace(",", "."); });
      field.after(bar);
    }
    function replace(id, page) {
      const here = document.getElementById(id);
      const there = page.getElementById(id);
      if (here && there && here.innerHTML !== there.innerHTML) here.replaceChildren(...there.childNodes);
    }
  }
})();
