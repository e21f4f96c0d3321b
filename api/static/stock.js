// Follows a job: its section is fetched again every other second until the job has ended. Without this file a link does it.
"use strict";
(() => {
  const section = document.getElementById("job");
  if (!section || !("underWay" in section.dataset)) return;
  async function follow() {
    try {
      const answer = await fetch(section.dataset.here, { headers: { accept: "text/html" } });
      const fresh = new DOMParser().parseFromString(await answer.text(), "text/html").getElementById("job");
      if (fresh) {
        const open = [...section.querySelectorAll("details")].map((one) => one.open);
        const held = section.contains(document.activeElement) ? document.activeElement.textContent : "";
        section.replaceChildren(...fresh.childNodes);
        section.querySelectorAll("details").forEach((one, place) => { one.open = open[place] || false; });
        if (held) [...section.querySelectorAll("a, button, summary")].find((one) => one.textContent === held)?.focus();
        if (!("underWay" in fresh.dataset)) return;
      }
    } catch { /* no connection: tried again */ }
    setTimeout(follow, 2000);
  }
  setTimeout(follow, 1000);
})();
