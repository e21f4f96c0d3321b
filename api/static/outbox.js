// Notes on their way: each is kept on this device until the service has it, through lost signal and restarts of either.
// Its key goes with it however often it is sent, so that the service writes it once.
"use strict";
(() => {
  const OUT = "out-", EVERY_MS = 10000;
  const list = () => {
    try {
      return Object.keys(localStorage).filter((key) => key.startsWith(OUT)).sort()
        .map((key) => [key, JSON.parse(localStorage.getItem(key))]);
    } catch { return []; }
  };
  const keep = (name, entry) => { try { localStorage.setItem(name, JSON.stringify(entry)); return true; } catch { return false; } };
  const drop = (name) => { try { localStorage.removeItem(name); } catch { /* nothing was kept */ } };
  const random = () => [...crypto.getRandomValues(new Uint8Array(16))].map((one) => one.toString(16).padStart(2, "0")).join("");
  const written = (answer) => answer.ok && /^\/notebook\/[0-9a-f-]{36}$/.test(new URL(answer.url).pathname);
  const blank = (values, files) => !files && ["a", "b", "text"].every((name) => !(values[name] || "").trim());
  let sending = false, wantsSignIn = false;

  function post(values) {
    const body = new FormData();
    for (const [name, value] of Object.entries(values)) body.append(name, value);
    return fetch("/notebook", { method: "POST", body });
  }
  async function freshToken() {
    const answer = await fetch("/notebook/new");
    wantsSignIn = answer.redirected && new URL(answer.url).pathname === "/sign-in";
    if (!answer.ok || wantsSignIn) throw new Error("not now");
    return new DOMParser().parseFromString(await answer.text(), "text/html").querySelector("[name=form_token]").value;
  }
  async function flush() {
    if (sending) return;
    sending = true;
    try {
      let token = "";
      for (const [name, entry] of list()) {
        if (entry.refused) continue;
        token = token || await freshToken();
        const answer = await post({ ...entry.values, form_token: token });
        if (written(answer)) drop(name);
        else if (answer.status === 422) keep(name, { ...entry, refused: true });
        else break;
      }
    } catch { /* no signal: it is tried again */ } finally { sending = false; tell(); }
  }
  function tell(more = "") {
    const kept = list(), refused = kept.filter(([, entry]) => entry.refused), waiting = kept.length - refused.length;
    let line = document.getElementById("outbox");
    if (!kept.length && !more) { if (line) line.remove(); return; }
    if (!line) {
      line = document.createElement("p");
      line.id = "outbox";
      line.className = "sheet";
      line.setAttribute("role", "status");
      document.getElementById("main").prepend(line);
    }
    const words = [more];
    if (waiting) words.push(`${waiting} ${waiting === 1 ? "note is" : "notes are"} kept on this device and sent as soon as the service is reached.`);
    if (waiting && wantsSignIn) words.push("Sign in again, so that they can be sent.");
    line.textContent = words.filter(Boolean).join(" ");
    if (refused.length) {
      const mend = document.createElement("button");
      mend.type = "button";
      mend.className = "plain";
      mend.textContent = `Mend ${refused.length === 1 ? "a note that was" : `${refused.length} notes that were`} not taken`;
      mend.addEventListener("click", () => {
        const [name, { values }] = refused[0];
        if (keep("kept-note", { ...values, " at": "/notebook/new" })) drop(name);
        location.assign("/notebook/new");
      });
      line.append(" ", mend);
    }
  }
  // What was typed, without the form's key: it is used up now, and would spoil the next note.
  function draftOf(draft) {
    try {
      const { key, ...typed } = JSON.parse(localStorage.getItem(draft) || "null") || {};
      return Object.keys(typed).length ? typed : null;
    } catch { return null; }
  }
  function emptied(form, { author, evidence }) {
    form.reset();
    form.elements.author.value = author;
    form.elements.evidence.value = evidence;
    form.elements.key.value = random();
  }
  // Whether the page is being left, for the note or for what is wrong with it.
  async function sent(form) {
    if (form.dataset.sent) { tell("Kept already. Nothing new was typed since."); return false; }
    const data = new FormData(form), files = [...data.values()].some((one) => one instanceof File && one.size);
    const values = Object.fromEntries([...data].filter(([name, one]) => typeof one === "string" && name !== "form_token"));
    if (blank(values, files)) { tell("Nothing is typed yet: name a part, or say in your words what is known."); return false; }
    const name = `${OUT}${String(Date.now()).padStart(15, "0")}-${values.key}`;
    // A photo is too large to be kept so: it stays in the form, which is sent again by hand.
    const kept = !files && keep(name, { values });
    const draft = `kept-${form.dataset.keep}`, typed = draftOf(draft);
    if (kept) drop(draft); // the page may be left before the answer is here: the next form starts empty
    else if (typed) keep(draft, typed);
    try {
      const answer = await fetch(form.action, { method: "POST", body: data });
      if (written(answer)) {
        drop(name);
        drop(draft);
        emptied(form, values); // as it is found when somebody goes back to it
        location.assign(answer.url);
        return true;
      }
      if (answer.status < 500 && answer.status !== 429) {
        drop(name);
        if (typed) keep(draft, typed);
        form.submit();
        return true;
      }
    } catch { /* no signal */ }
    if (!kept) { tell("The service was not reached. What you typed is still here: send it again."); return false; }
    emptied(form, values);
    form.dataset.sent = "yes"; // a second tap would else send what the emptied form still holds
    tell("Kept.");
    return false;
  }
  for (const form of document.querySelectorAll("form[data-keep]")) {
    form.addEventListener("submit", async (event) => {
      event.preventDefault();
      const button = form.querySelector("button[type=submit]");
      if (button.disabled) return;
      button.disabled = true;
      let leaving = false;
      try { leaving = await sent(form); } finally { button.disabled = leaving; }
    });
    for (const what of ["input", "change"]) form.addEventListener(what, () => { delete form.dataset.sent; });
    addEventListener("pageshow", () => { form.querySelector("button[type=submit]").disabled = false; });
  }
  addEventListener("online", flush);
  setInterval(() => { if (list().length) flush(); }, EVERY_MS);
  if (list().length) { tell(); flush(); }
})();
