// Shows the units as they are proven, line by line from POST /reach. Without this file the form asks for the whole list.
"use strict";
(() => {
  for (const field of document.querySelectorAll("#reach-form .unscripted")) field.remove();
  const section = document.getElementById("reached");
  if (!section || "whole" in section.dataset) return;
  const words = JSON.parse(section.dataset.words);
  const body = JSON.parse(section.dataset.body);
  const currency = section.dataset.currency;
  const unit = body.objective === "hours" ? "h" : currency;
  const made = (tag, properties = {}, ...inside) => {
    const one = Object.assign(document.createElement(tag), properties);
    one.append(...inside);
    return one;
  };
  const bar = made("progress", { max: 1, ariaLabel: `${body.gearbox ? "engines" : "gearboxes"} looked at` });
  const told = made("p", {});
  told.setAttribute("role", "status");
  const list = made("ol", { className: "reached" });
  const stop = made("button", { type: "button", className: "plain", textContent: "Stop" });
  const row = made("p", {}, stop);
  for (const one of section.querySelectorAll(".unscripted")) one.remove();
  section.append(made("p", {}, bar), told, list, row);

  const rated = "rated" in section.dataset;
  const plainly = (amount) => `${Number(amount).toFixed(2)} ${currency}`;
  const hours = (amount) => `${(amount * 10) % 1 === 0 ? Number(amount).toFixed(1) : Number(amount).toFixed(2)} h`;
  const money = (amount, one) => {
    if (rated || !one.hours) return plainly(amount);
    const worked = `${hours(one.hours)}; no rate stated`;
    return amount ? `${plainly(amount)} and ${worked}` : worked;
  };
  const days = (amount) => {
    const shown = Number(amount).toFixed(1).replace(/\.0$/, "");
    return shown === "1" ? "1 day" : `${shown} days`;
  };
  function say(kind, state) {
    const least = `${Number(state.at_least || 0).toFixed(2)} ${unit}`;
    const values = { ...state, at_least: least, seconds: Number(state.seconds || 0).toFixed(1) };
    told.textContent = words[kind].replace(/\{(\w+)\}/g, (_, name) => values[name]);
    if (state.units) bar.max = state.units;
    bar.value = kind === "all" ? bar.max : state.looked_at;
  }
  function add(one) {
    const least = one.sums_at_least ? "at least " : "";
    const sums = {
      expected: `${least}${money(one.expected, one)} expected`, total: `${least}${money(one.total, one)} if nothing is worn`,
      cash: `${least}${plainly(one.cash)} cash`, hours: least + hours(one.hours), days: least + days(one.days),
    };
    const mark = words.marks[one.status];
    const figure = mark ? `if it holds, ${sums[body.objective]}` : sums[body.objective];
    delete sums[body.objective];
    const address = new URL(section.dataset.answer, location.href);
    address.searchParams.set(section.dataset.side, one.unit);
    const link = made("a", { className: "target", href: address.pathname + address.search, textContent: one.label });
    const quiet = made("span", { className: "quiet", textContent: [...Object.values(sums), ...(mark ? [mark] : []), `${one.known} of ${one.of} places and joints known`].join("; ") });
    const amounts = made("span", { className: "amounts" }, made("strong", { textContent: figure }), "; ", quiet);
    const told = one.told.flatMap((text) => [" ", made("span", { className: "quiet", textContent: `${text}.` })]);
    list.append(made("li", {}, link, " ", amounts, ...told));
  }

  let going, last;
  async function run() {
    going = new AbortController();
    last = { looked_at: 0, units: 0 };
    list.replaceChildren();
    stop.textContent = "Stop";
    told.textContent = "Working it out \u2026";
    bar.removeAttribute("value");
    const asked = { method: "POST", headers: { "content-type": "application/json" }, body: JSON.stringify(body), signal: going.signal };
    try {
      const response = await fetch("/reach", asked);
      if (!response.ok) throw new Error((await response.json()).detail);
      await read(response.body.pipeThrough(new TextDecoderStream()).getReader());
    } catch (error) {
      if (error.name === "AbortError") say("stopped", last);
      else told.textContent = error.name === "Error" && error.message ? error.message : words.failed;
    }
    going = null;
    if (last.complete) row.remove();
    else stop.textContent = "Go on with more time";
  }
  async function read(lines) {
    let rest = "";
    for (;;) {
      const { done, value } = await lines.read();
      if (done) break;
      const whole = (rest + value).split("\n");
      rest = whole.pop();
      for (const line of whole) take(JSON.parse(line));
    }
    if (!last.ended) throw new TypeError("cut short");
  }
  function take(line) {
    if ("unit" in line) return add(line);
    last = line;
    if (!line.ended) say("working", line);
    else say(!line.complete ? "late" : line.at_least === null ? "all" : "first", line);
  }
  stop.addEventListener("click", () => {
    if (going) return going.abort();
    body.seconds = Math.min(600, body.seconds * 4);
    run();
  });
  run();
})();
