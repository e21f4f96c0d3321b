// Asks for the answer while a form is being filled in. Without this file the button does the same.
"use strict";
(() => {
  for (const form of document.querySelectorAll("form[data-live]")) {
    let timer = 0;
    let asked = 0;
    form.addEventListener("input", (event) => {
      if (event.target.closest("#write")) return; // what is written down with the readings changes no verdict
      if (["a", "b", "a_chosen", "b_chosen", "joint", "family"].includes(event.target.name)) return; // other fields come with these: by the button
      clearTimeout(timer);
      timer = setTimeout(ask, 350);
    });
    async function ask() {
      const mine = ++asked;
      const address = new URL(form.action);
      address.search = new URLSearchParams([...new FormData(form)].filter(([name, value]) => value !== "" && !(form.elements[name].closest?.("#write")))).toString();
      let text;
      try {
        const answer = await fetch(address, { headers: { accept: "text/html" } });
        text = await answer.text();
      } catch { return; } // no connection: the last answer stays, the button tries again
      if (mine !== asked) return;
      const page = new DOMParser().parseFromString(text, "text/html");
      replace(form.dataset.live, page);
      for (const here of form.querySelectorAll(".known[id]")) replace(here.id, page);
      history.replaceState(null, "", address);
    }
    function replace(id, page) {
      const here = document.getElementById(id);
      const there = page.getElementById(id);
      if (here && there && here.innerHTML !== there.innerHTML) here.replaceChildren(...there.childNodes);
    }
  }
})();
