// Small comforts on top of pages that work without them: number keys, focus and spoken verdicts after a swap,
// a file's name, moving through the schedule with the arrow keys. Nothing is worked out or stored here.
"use strict";
document.documentElement.classList.add("js");
// Text so large that few words fit beside each other: then things stand below each other, and the keys in the page.
function sized() {
  const root = document.documentElement, text = parseFloat(getComputedStyle(root).fontSize);
  root.classList.toggle("big", root.clientWidth < 15 * text || (innerHeight < 21 * text && root.clientWidth < 36 * text));
}
addEventListener("resize", sized);
sized();

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
  handOn(page);
}
new MutationObserver((changes) => {
  for (const change of changes) for (const node of change.addedNodes) if (node.id === "page") arrived(node);
}).observe(document.querySelector(".with-jobs, .without-jobs"), { childList: true });

const kept = (name) => { try { return localStorage.getItem(name); } catch { return null; } };
// What only some pages need is fetched when such a page is there.
function fetchNeeded() {
  for (const { dataset } of document.querySelectorAll("[data-script]")) {
    if (dataset.if && !kept(dataset.if)) continue; // only where this device's owner switched it on
    if (document.querySelector(`script[src="${dataset.script}"]`)) continue;
    const script = document.createElement("script");
    script.src = dataset.script;
    document.head.append(script);
  }
}
document.addEventListener("arrived", fetchNeeded);
addEventListener("load", fetchNeeded);

// When there is no answer, or a wrong one, the page stays as it is: what was typed is still in its form.
function unanswered(text, typed = takeAhead().join(" ").trim()) {
  const place = document.getElementById("lost");
  place.textContent = [text, typed && place.dataset.ahead.replace("{digits}", typed)].filter(Boolean).join(" ");
  place.className = "strip bad";
}
document.addEventListener("htmx:error", (event) => {
  if (event.target.matches?.("form")) unanswered(document.getElementById("lost").dataset.lost);
});
document.addEventListener("htmx:response:error", (event) => {
  const status = event.detail.ctx.response.status;
  if (status !== 422) unanswered(document.getElementById("lost").dataset.refused + " (" + status + ")");
});
document.addEventListener("htmx:before:request", (event) => {
  const place = document.getElementById("lost");
  place.textContent = "";
  place.className = "";
  if (event.target.matches?.("form[method=post]")) {
    sent = { form: event.target, digits: new Map([...event.target.querySelectorAll(READING)].map((f) => [f, f.value])) };
    ahead = "";
  }
});

// A link to a field opens what is closed round it.
function unfold() {
  const goal = location.hash && document.getElementById(decodeURIComponent(location.hash.slice(1)));
  if (!goal) return;
  for (let d = goal.closest("details:not([open])"); d; d = d.parentElement.closest("details:not([open])")) d.open = true;
  goal.scrollIntoView({ block: "center" });
}
addEventListener("hashchange", unfold);
document.addEventListener("arrived", unfold);
addEventListener("load", unfold);

// The number keys write into the entry beside them; on a page of many places, into the one that has the focus.
const coarse = matchMedia("(pointer: coarse)").matches;
const every = (form) => [...form.querySelectorAll("input[data-column]")];
const places = (form) => every(form).filter((p) => p.offsetParent && !p.closest("details:not([open])"));
const open = (place) => !place.value && !("read" in place.dataset);
let inHand = null;
function standing(keys) {
  if (keys.dataset.for) return document.getElementById(keys.dataset.for);
  const mine = places(keys.closest("form"));
  return mine.includes(inHand) ? inHand : mine.find(open) || mine[0];
}
function put(input, value) {
  input.value = value;
  input.dispatchEvent(new Event("input", { bubbles: true }));
}
function goOn(input) {
  const all = every(input.form), next = all.slice(all.indexOf(input) + 1).find(open);
  if (!next) return;
  for (let d = next.closest("details"); d; d = d.parentElement.closest("details")) d.open = true;
  next.focus();
  next.scrollIntoView({ block: "center" });
}
document.addEventListener("click", (event) => {
  const key = event.target.closest("[data-key]");
  if (!key) return;
  const input = standing(key.closest(".keys") || key), said = key.dataset.key;
  if (!input) return;
  if (waits(input)) return said === "next" || said === "same" ? undefined : typedAhead(said);
  if (said === "next") return goOn(input);
  if (said === "same") {
    const mine = places(input.form), value = input.value || mine.filter((p) => p.value).at(-1)?.value || "";
    return mine.filter(open).forEach((p) => put(p, value));
  }
  if (said === "back") put(input, input.value.slice(0, -1));
  else if (said.startsWith(">")) { put(input, said); goOn(input); }
  else if (!said.includes(".") || !input.value.includes(".")) put(input, input.value + said);
  if (said === "back" || !said.startsWith(">")) input.focus();
});
// A device as it is written on it: standard, type and rating, each put in its place.
function withPart(device, part, word) {
  const m = device.trim().match(/^(.*?)\s*(?:\b([A-Z]|g[A-Z]|aM))?\s*(?:\b|(?<=[A-Z]))(\d{1,3})?$/) || [];
  const bare = /^(BS|BS EN|IEC).*\d$/.test(device.trim()) && !m[2] ? [device, device.trim(), "", ""] : m;
  const said = { standard: bare[1] || "", type: bare[2] || "", rating: bare[3] || "", [part]: word };
  return [said.standard, said.type + said.rating].filter(Boolean).join(" ");
}
// A word beside a field goes into it with one tap.
document.addEventListener("click", (event) => {
  const chip = event.target.closest("[data-put], [data-part]");
  if (!chip) return;
  const input = document.getElementById(chip.dataset.to);
  put(input, chip.dataset.put ?? withPart(input.value, chip.dataset.part, chip.textContent.trim()));
  for (const [id, value] of Object.entries(JSON.parse(chip.dataset.also || "{}"))) {
    const other = document.getElementById(id);
    if (other && value && !other.value) put(other, value);
  }
});
document.addEventListener("focusin", (event) => { if (event.target.matches?.("input[data-column]")) inHand = event.target; });
// Where our own keys are shown, the phone's keyboard stays down, and the first empty place is ready for digits.
if (coarse) {
  document.addEventListener("focusin", (event) => {
    if (event.target.matches?.("input.big, .grid input[inputmode=decimal]")) event.target.inputMode = "none";
  });
}

// An instrument that types, or a paste: what comes while no field has the focus goes to the reading that is in hand.
function reading() {
  const big = document.querySelector("input.big");
  if (big) return big;
  const form = document.querySelector(".grid"), mine = form ? places(form) : [];
  return mine.includes(inHand) ? inHand : mine.find(open);
}
const elsewhere = (target) => !target.closest("input,select,textarea,[contenteditable]");
document.addEventListener("keydown", (event) => {
  if (event.ctrlKey || event.metaKey || event.altKey || !/^[0-9.,<>]$/.test(event.key) || !elsewhere(event.target)) return;
  reading()?.focus(); // the character itself then lands there
});
document.addEventListener("paste", (event) => {
  const goal = elsewhere(event.target) && reading();
  if (!goal) return;
  event.preventDefault();
  goal.focus();
  put(goal, event.clipboardData.getData("text").trim());
});

// While an answer is on its way: a reading that was sent takes no more. What is typed then is for the one that comes next:
// it waits, and goes into that field, to be looked at and saved. Where there is none it is told, never put elsewhere.
const READING = "input.big, .grid input[inputmode]";
let sent = null, ahead = "", past = "", ended = false;
const waits = (field) => sent?.form.isConnected && (field ? sent.digits.get(field) && sent.digits.get(field) === field.value : true);
function typedAhead(said) {
  if (ended) { past += said === "back" ? "" : said; return; } // an instrument that ended its reading: the next would run into it, so it is only told
  if (said === "back") ahead = ahead.slice(0, -1);
  else if (said.startsWith(">")) ahead = said;
  else if (!said.includes(".") || !ahead.includes(".")) ahead += said;
}
function takeAhead() {
  const typed = sent ? ahead : "", lost = past;
  sent = null;
  ahead = past = "";
  ended = false;
  return [typed, lost];
}
function handOn(page) {
  const refused = page.querySelector(".strip.bad[data-focus]"), [typed, lost] = takeAhead();
  if (!typed) return;
  const goal = refused ? null : reading();
  if (!goal || goal.value) return unanswered("", `${typed} ${lost}`.trim());
  goal.focus();
  put(goal, typed);
  if (lost) unanswered("", lost);
}
document.addEventListener("beforeinput", (event) => {
  if (!event.target.matches(READING) || !waits(event.target)) return;
  event.preventDefault();
  const said = event.inputType.startsWith("delete") ? "back" : (event.data || "").trim();
  if (said === "back" || /^[0-9.,<>]+$/.test(said)) typedAhead(said);
});
document.addEventListener("keydown", (event) => {
  if (!waits() || event.ctrlKey || event.metaKey || event.altKey) return;
  if (event.key === "Enter" && (elsewhere(event.target) || waits(event.target))) { event.preventDefault(); event.stopPropagation(); ended = ended || Boolean(ahead); }
  else if (elsewhere(event.target) && /^[0-9.,<>]$/.test(event.key)) { event.preventDefault(); event.stopPropagation(); typedAhead(event.key); }
}, true);

// In the schedule: up and down stay in the column, Enter goes one down, as on paper.
document.addEventListener("keydown", (event) => {
  const cell = event.target.closest(".grid input");
  if (!cell || event.ctrlKey || event.metaKey || event.altKey) return;
  const step = { ArrowUp: -1, ArrowDown: 1, Enter: 1 }[event.key];
  if (!step) return;
  const column = [...cell.closest(".grid").querySelectorAll(`input[data-column="${cell.dataset.column}"]`)];
  const next = column[column.indexOf(cell) + step];
  if (!next && event.key === "Enter") { // the last one: saved, as by the button
    event.preventDefault();
    cell.form.requestSubmit(cell.form.querySelector("button.save"));
  }
  if (next) { event.preventDefault(); next.focus(); next.select(); }
});
