// Forms marked data-stay are sent without leaving the page: the page is fetched anew and its main part put in place.
// Without this script the same forms work as any form.
"use strict";

const said = document.getElementById("said");

async function send(form, button) {
  const fields = new URLSearchParams(new FormData(form));
  if (button && button.name) fields.set(button.name, button.value);
  const answer = await fetch(form.action, { method: "POST", body: fields, credentials: "same-origin" });
  const page = new DOMParser().parseFromString(await answer.text(), "text/html");
  const fresh = page.getElementById("main");
  if (!answer.ok || !fresh) {
    const why = fresh && (fresh.querySelector(".problems li") || fresh.querySelector("h1"));
    throw new Error(why ? why.textContent : "The server did not take it.");
  }
  return { fresh, noted: page.getElementById("said").textContent };
}

document.addEventListener("submit", async (event) => {
  const form = event.target;
  if (!form.matches("form[data-stay]")) return;
  event.preventDefault();
  const button = event.submitter;
  const place = form.closest("section");
  const heading = place && place.getAttribute("aria-labelledby");
  if (button) button.disabled = true;
  said.textContent = "Noting it …";
  try {
    const { fresh, noted } = await send(form, button);
    document.getElementById("main").replaceWith(fresh);
    said.textContent = noted;
    const goOn = (heading && document.getElementById(heading)) || fresh;
    goOn.tabIndex = -1;
    goOn.focus();
  } catch (fault) {
    if (button) button.disabled = false;
    said.textContent = fault instanceof TypeError ? "Not noted: no signal. Try again where there is one." : `Not noted: ${fault.message}`;
  }
});
