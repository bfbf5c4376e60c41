// A tap on a week of the picture shows its figures at the foot of the window. Without this script it leads to the table.
"use strict";

const said = document.getElementById("said");

document.addEventListener("click", (event) => {
  const link = event.target.closest(".drawing a");
  if (!link) {
    said.textContent = "";
    return;
  }
  event.preventDefault();
  said.textContent = link.dataset.tells;
});

document.addEventListener("keydown", (event) => {
  if (event.key === "Escape") said.textContent = "";
});
