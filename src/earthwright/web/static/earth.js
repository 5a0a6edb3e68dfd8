// Small comforts on top of pages that work without them: number keys, focus and spoken verdicts after a swap,
// a file's name, moving through the schedule with the arrow keys. Nothing is worked out or stored here.
"use strict";
document.documentElement.classList.add("js");

// After a form has been answered: say the outcome aloud and put the focus where the reader goes on.
function arrived(page) {
  const saying = page.querySelector("[data-say]");
  const said = document.getElementById("said");
  if (saying && said) {
    said.textContent = "";
    setTimeout(() => { said.textContent = saying.textContent.replace(/\s+/g, " ").trim(); }, 60);
  }
  const goal = page.querySelector("[data-focus]") || page;
  if (!goal.hasAttribute("tabindex") && !goal.matches("input,select,textarea,button,a")) goal.tabIndex = -1;
  goal.focus({ preventScroll: false });
  const heading = page.querySelector("h1");
  if (heading) document.title = heading.textContent.trim() + " · earthwright";
  document.dispatchEvent(new Event("arrived"));
}
new MutationObserver((changes) => {
  for (const change of changes) for (const node of change.addedNodes) if (node.id === "page") arrived(node);
}).observe(document.querySelector(".with-jobs, .without-jobs"), { childList: true });

// When there is no answer, or a wrong one, the page stays as it is: what was typed is still in its form.
function unanswered(text) {
  const place = document.getElementById("lost");
  place.textContent = text;
  place.className = "strip bad";
}
document.addEventListener("htmx:error", (event) => {
  if (event.target.matches && event.target.matches("form")) unanswered(document.getElementById("lost").dataset.lost);
});
document.addEventListener("htmx:response:error", (event) => {
  const status = event.detail.ctx.response.status;
  if (status !== 422) unanswered(document.getElementById("lost").dataset.refused + " (" + status + ")");
});
document.addEventListener("htmx:before:request", () => {
  const place = document.getElementById("lost");
  place.textContent = "";
  place.className = "";
});

// The number keys write into the entry beside them, where the cursor stands.
document.addEventListener("click", (event) => {
  const key = event.target.closest("[data-key]");
  if (!key) return;
  const input = document.getElementById(key.closest("[data-for]").dataset.for);
  if (key.dataset.key === "back") input.value = input.value.slice(0, -1);
  else if (key.dataset.key !== "." || !input.value.includes(".")) input.value += key.dataset.key;
  input.dispatchEvent(new Event("input", { bubbles: true }));
});
// Where our own keys are shown, the phone's keyboard stays down.
if (matchMedia("(pointer: coarse)").matches) {
  document.addEventListener("focusin", (event) => {
    if (event.target.matches("input.big")) event.target.inputMode = "none";
  });
}

// In the schedule: up and down stay in the column, Enter goes one down, as on paper.
document.addEventListener("keydown", (event) => {
  const cell = event.target.closest(".grid input");
  if (!cell || event.ctrlKey || event.metaKey || event.altKey) return;
  const step = { ArrowUp: -1, ArrowDown: 1, Enter: 1 }[event.key];
  if (!step) return;
  const column = [...cell.closest(".grid").querySelectorAll(`input[data-column="${cell.dataset.column}"]`)];
  const next = column[column.indexOf(cell) + step];
  if (next) { event.preventDefault(); next.focus(); next.select(); }
});
