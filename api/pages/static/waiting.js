// What was recorded here and is not yet on the server: kept in this browser, one entry each, and sent when there is
// signal. Every entry has a key of its own that goes with it, so that sending twice records once. An entry leaves this
// browser only when the server says it is kept, or when its owner drops it.
"use strict";

const waiting = (() => {
  const PREFIX = "underbough-waiting/";
  const PATIENCE = 20000; // ms until a slow answer counts as no signal
  const heard = [];
  let busy = null;

  function all() {
    const found = [];
    for (let n = 0; n < localStorage.length; n += 1) {
      const name = localStorage.key(n);
      if (name.startsWith(PREFIX)) found.push({ key: name.slice(PREFIX.length), ...JSON.parse(localStorage.getItem(name)) });
    }
    return found.sort((a, b) => a.at - b.at || (a.key < b.key ? -1 : 1));
  }

  function tell(what = {}) {
    heard.forEach((hear) => hear(what));
  }

  // Throws where the browser keeps nothing (full, or forbidden): the caller then sends the form the plain way.
  function keep(entry) {
    const { key, ...rest } = entry;
    localStorage.setItem(PREFIX + key, JSON.stringify(rest));
    tell();
  }

  function drop(key) {
    localStorage.removeItem(PREFIX + key);
    tell();
  }

  // What came of one: kept, refused with reasons, or no answer that counts ("later", with what is in the way).
  async function sendOne(entry) {
    const body = new URLSearchParams(entry.fields);
    body.set("check", document.querySelector("input[name=check]").value);
    let answer;
    try {
      answer = await fetch(entry.to, {
        method: "POST", body, credentials: "same-origin", redirect: "manual",
        headers: { Accept: "application/json", "Idempotency-Key": entry.key },
        signal: AbortSignal.timeout(PATIENCE),
      });
      if (answer.status === 201) return { kept: await answer.json() };
      if (answer.status === 422) return { refused: (await answer.json()).problems };
    } catch {
      return { later: "There is no signal." };
    }
    if (answer.type === "opaqueredirect" || answer.status === 401) return { later: "Sign in again; then it is sent." };
    if (answer.status === 403) return { later: "Load this page anew; then it is sent. If that does not help, this token may not record." };
    if (answer.status === 404) return { refused: { "": ["This orchard is not there any more, or not open to you."] } };
    if (answer.status === 409) return { refused: { "": ["It was sent before in other words. Look whether it stands under the last looks."] } };
    if (answer.status === 413 || answer.status === 400) return { refused: { "": ["The server cannot read it."] } };
    return { later: "The server cannot take it just now.", goOn: answer.status !== 429 };
  }

  async function sendAll() {
    for (const entry of all().filter((one) => !one.refused)) {
      const came = await sendOne(entry);
      if (came.kept) {
        localStorage.removeItem(PREFIX + entry.key);
        tell({ kept: came.kept, entry });
      } else if (came.refused) {
        if (localStorage.getItem(PREFIX + entry.key)) keep({ ...entry, refused: came.refused });
        tell({ refused: came.refused, entry });
      } else {
        tell({ later: came.later, entry });
        if (!came.goOn) return;
      }
    }
  }

  // One sender at a time on a page; a second call waits for the first and then sends what came meanwhile.
  function send() {
    busy = (busy || Promise.resolve()).then(sendAll, sendAll);
    return busy;
  }

  window.addEventListener("online", send);
  window.addEventListener("storage", () => tell());
  document.addEventListener("visibilitychange", () => { if (!document.hidden) send(); });
  window.setInterval(() => { if (!document.hidden && all().some((one) => !one.refused)) send(); }, 30000);

  // Signing out clears this browser: what waits would be lost, so it is asked first.
  document.addEventListener("submit", (event) => {
    const number = event.target.action.endsWith("/sign-out") ? all().length : 0;
    if (number && !window.confirm(`${number} recorded here ${number === 1 ? "is" : "are"} not yet sent, and would be lost. Sign out all the same?`)) event.preventDefault();
  });

  return { all, keep, drop, send, hear: (hear) => heard.push(hear) };
})();

if ("serviceWorker" in navigator && window.isSecureContext) navigator.serviceWorker.register("/sw.js", { scope: "/" }).catch(() => {});
waiting.send();
