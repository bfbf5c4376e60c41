// Records of a walk are kept in this browser first and sent from there (waiting.js): nothing is lost without signal.
// Without this script the same forms are sent as any form.
"use strict";

const page = document.getElementById("walk");
const said = document.getElementById("said");
const box = document.getElementById("waiting");
const list = box.querySelector("[data-list]");
const keptList = page.querySelector("[data-kept]");
const PLAIN = ["check", "date", "kind", "place", "about"];
let why = "";

// The day by this device: a page that stayed open overnight, or was opened again without signal, still records for today.
if ("today" in page.dataset) stampDay();
document.addEventListener("visibilitychange", () => { if (!document.hidden && "today" in page.dataset) stampDay(); });

function stampDay() {
  const now = new Date();
  const day = [now.getFullYear(), now.getMonth() + 1, now.getDate()].map((part) => String(part).padStart(2, "0")).join("-");
  const shown = page.querySelector("[data-day]");
  if (shown.dataset.day === day) return;
  shown.dataset.day = day;
  shown.textContent = now.toLocaleDateString("en-GB", { weekday: "long", day: "numeric", month: "long", year: "numeric" }).replace(",", "");
  page.querySelectorAll("form[data-record] input[name=date]").forEach((field) => { field.value = day; });
}

function fieldsOf(form) {
  const fields = {};
  for (const [name, value] of new FormData(form)) {
    if (name !== "check" && value.trim() !== "") fields[name] = value.trim();
  }
  for (const name of Object.keys(fields)) {
    if (name.endsWith(".unit") && !(name.slice(0, -5) in fields)) delete fields[name];
  }
  return fields;
}

function inWords(form, fields) {
  const parts = [];
  for (const [name, value] of Object.entries(fields)) {
    if (PLAIN.includes(name) || name.endsWith(".unit")) continue;
    const field = form.elements[name];
    if (field.type === "hidden") continue;
    const words = field instanceof HTMLSelectElement ? field.selectedOptions[0].textContent : value.replaceAll("-", " ");
    const unit = /[a-z%°]/i.test(value) ? "" : fields[`${name}.unit`] || "";
    parts.push(`${name.replace(/^(results|parts\.\d)\./, "").replaceAll("_", " ")} ${words} ${unit}`.trim());
  }
  const place = fields.place && !form.dataset.title.endsWith(fields.place) ? `, ${fields.place.replaceAll("-", " ")}` : "";
  return `${form.dataset.title}${place}: ${parts.join(", ") || "seen"}`;
}

function dayInWords(iso) {
  const [year, month, day] = iso.split("-").map(Number);
  return new Date(year, month - 1, day).toLocaleDateString("en-GB", { weekday: "short", day: "numeric", month: "short" }).replace(",", "");
}

function complain(form, words) {
  const place = form.querySelector("[data-says]");
  place.textContent = words;
  place.hidden = !words;
}

// A second tap on a choice takes it back: what was not looked at must be able to stay open.
page.addEventListener("pointerdown", (event) => {
  const radio = event.target.closest(".pick") && event.target.closest(".pick").querySelector("input");
  if (radio) radio.dataset.was = radio.checked ? "on" : "";
});
page.addEventListener("click", (event) => {
  if (!event.target.matches(".pick input") || event.detail === 0 && !event.isTrusted) return;
  if (event.target.dataset.was === "on" && !event.target.required) event.target.checked = false;
  event.target.dataset.was = "";
});

page.addEventListener("submit", (event) => {
  const form = event.target;
  if (!form.matches("form[data-record]")) return;
  const fields = fieldsOf(form);
  const wanted = form.dataset.oneOf.split(" ").filter(Boolean);
  const told = Object.keys(fields).some((name) => wanted.includes(name.split(".")[0]) || name.startsWith("results."));
  if (wanted.length && !told) {
    event.preventDefault();
    complain(form, "Fill in at least one line, or there is nothing to keep.");
    return;
  }
  const entry = {
    key: form.dataset.key || crypto.getRandomValues(new Uint32Array(4)).join("-"),
    at: Date.now(), to: form.getAttribute("action"), orchard: page.dataset.orchard, fields, words: inWords(form, fields),
  };
  try {
    waiting.keep(entry);
  } catch {
    return; // this browser keeps nothing: the form goes the plain way
  }
  event.preventDefault();
  complain(form, "");
  form.reset();
  delete form.dataset.key;
  const fold = form.closest("details.look");
  fold.open = false;
  fold.querySelector("summary").focus();
  said.textContent = "Kept in this browser, being sent …";
  waiting.send();
});

function show() {
  const entries = waiting.all();
  box.hidden = entries.length === 0;
  const refused = entries.filter((one) => one.refused).length;
  const rest = entries.length - refused;
  const parts = [];
  if (rest) parts.push(`${rest} kept in this browser and not yet sent. ${why}`.trim());
  if (refused) parts.push(`${refused} refused: mend ${refused === 1 ? "it" : "them"} or drop ${refused === 1 ? "it" : "them"}.`);
  box.querySelector("[data-about]").textContent = parts.join(" ");
  box.querySelector("[data-send]").hidden = rest === 0;
  list.replaceChildren(...entries.map(line));
}

function line(entry) {
  const item = document.createElement("li");
  const words = document.createElement("p");
  const at = entry.orchard === page.dataset.orchard ? "" : ` (${entry.orchard})`;
  words.textContent = `${dayInWords(entry.fields.date)}. ${entry.words}${at}`;
  item.append(words);
  if (entry.refused) {
    const reason = document.createElement("p");
    reason.className = "wrong";
    reason.textContent = Object.values(entry.refused).flat().join(" ");
    const mend = press("Mend it", () => mendIt(entry));
    mend.hidden = entry.orchard !== page.dataset.orchard;
    item.append(reason, mend, press("Drop it", () => {
      if (window.confirm(`Drop this for good? ${entry.words}`)) waiting.drop(entry.key);
    }));
  }
  return item;
}

function press(words, act) {
  const button = document.createElement("button");
  button.type = "button";
  button.textContent = words;
  button.addEventListener("click", act);
  return button;
}

// The form that takes back what was kept, as the server makes it for those before.
function takeBack(to, kept) {
  const form = document.createElement("form");
  form.method = "post";
  form.action = to;
  const check = document.createElement("input");
  check.type = "hidden";
  check.name = "check";
  check.value = page.querySelector("input[name=check]").value;
  const button = document.createElement("button");
  button.className = "plain";
  button.name = "take_back";
  button.value = kept.id;
  button.textContent = "Take back";
  button.setAttribute("aria-label", `Take back: ${kept.said}`);
  form.append(check, button);
  return form;
}

// Opens the form of that look again with what was written; keeping it anew replaces what was refused.
function mendIt(entry) {
  const forms = [...page.querySelectorAll(`details.look[data-kind="${CSS.escape(entry.fields.kind)}"] form`)];
  const fits = (form) => ["place", "about"].every((name) => {
    const field = form.elements[name];
    return !field || field.type !== "hidden" || field.value === (entry.fields[name] || "");
  });
  const form = forms.find(fits) || forms[forms.length - 1];
  if (!form) return;
  form.reset();
  for (const [name, value] of Object.entries(entry.fields)) {
    const field = form.elements[name];
    if (field && (field instanceof RadioNodeList || field.type !== "hidden" || name === "date")) field.value = value;
  }
  form.dataset.key = entry.key;
  for (let fold = form.closest("details"); fold; fold = fold.parentElement.closest("details")) fold.open = true;
  form.querySelectorAll("details").forEach((more) => { more.open = true; });
  complain(form, Object.values(entry.refused).flat().join(" "));
  form.querySelector("input:not([type=hidden]), select").focus();
}

waiting.hear((what) => {
  if (what.later) {
    why = what.later;
    said.textContent = `Kept in this browser. ${what.later}`;
  }
  if (what.kept) {
    why = "";
    said.textContent = `Kept: ${what.kept.said}`;
    const item = document.createElement("li");
    const words = document.createElement("span");
    words.textContent = `${dayInWords(what.entry.fields.date)}. ${what.kept.said}`;
    item.append(words, takeBack(what.entry.to, what.kept));
    if (what.entry.orchard === page.dataset.orchard) {
      keptList.prepend(item);
      document.getElementById("none-kept")?.remove();
    }
  }
  if (what.refused) said.textContent = "Refused: see above what is wrong.";
  show();
});
box.querySelector("[data-send]").addEventListener("click", () => waiting.send());
show();

// So that this page opens again without signal, what it is made of is put by at once.
if ("caches" in window && navigator.serviceWorker) {
  const parts = [...document.querySelectorAll("link[rel=stylesheet], link[rel=icon], script[src]")].map((one) => one.href || one.src);
  caches.open("underbough").then((shelf) => shelf.addAll([location.pathname, ...parts])).catch(() => {});
}
