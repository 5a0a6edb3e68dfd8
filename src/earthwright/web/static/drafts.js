// Drafts: what is typed into a form stays on this device, and nowhere else, until it is written down or thrown away.
// Each form of each visit has its own. A draft holds the id of its form, so the journal can say whether it was written
// although the answer never came, and the state that the form was filled in on, so that nothing newer is overwritten.
"use strict";
(() => {
  const PREFIX = "draft ", DAYS = 30; // after so many days untouched a draft goes: the device may be another person's
  let shelf;
  try {
    shelf = window.localStorage;
    shelf.setItem("draft?", "");
    shelf.removeItem("draft?");
  } catch { return; } // where nothing may be kept, nothing is promised

  const OWN = ["uid", "head", "clash", "do", "last", "own"];
  // By its attribute: a circuit has a field called "method", which would stand in for that of its form.
  const ours = (form) => form instanceof HTMLFormElement && form.getAttribute("method") === "post" && form.elements.uid;
  const kept = (field) => field.name && !OWN.includes(field.name) && !field.name.startsWith("settle.")
    && !["hidden", "file", "password", "submit", "button"].includes(field.type);
  const cameBack = (form) => "back" in form.elements.uid.dataset;
  const ticked = (field) => field.type === "checkbox" || field.type === "radio";

  function keyOf(form) {
    const to = new URL(form.getAttribute("action"), location);
    const does = form.querySelector("input[type=hidden][name=do]");
    return `${PREFIX}${to.pathname}${to.search} ${does ? does.value : ""}`;
  }
  const fieldsOf = (form, name) => [...form.elements].filter((f) => f.name === name && kept(f));
  const now = (form, name) => fieldsOf(form, name).map((f) => (ticked(f) ? f.checked : f.value));
  const began = (form, name) => fieldsOf(form, name).map((f) => {
    if (ticked(f)) return f.defaultChecked;
    if (f.tagName !== "SELECT") return f.defaultValue;
    return ([...f.options].find((o) => o.defaultSelected) || f.options[0] || { value: "" }).value;
  });
  const same = (a, b) => JSON.stringify(a) === JSON.stringify(b);

  function load(key) {
    let draft;
    try { draft = JSON.parse(shelf.getItem(key)); } catch { return null; }
    if (!draft || Date.now() - draft.typed < DAYS * 86400e3) return draft;
    if (draft.typed) shelf.removeItem(key); else save(key, { ...draft, typed: Date.now() }); // kept before drafts had an age
    return draft.typed ? null : draft;
  }
  function save(key, draft) {
    try { shelf.setItem(key, JSON.stringify(draft)); return true; } catch { return false; }
  }
  function drop(form) {
    shelf.removeItem(keyOf(form));
    form.querySelectorAll(":scope > .draft").forEach((line) => line.remove());
  }

  // The line stands where it does not move what is being typed: below while typing, above when a draft was brought back.
  function tell(form, above) {
    if (form.querySelector(":scope > .draft")) return;
    const line = document.getElementById("draft-line").content.firstElementChild.cloneNode(true);
    line.querySelector("button").addEventListener("click", () => {
      drop(form);
      location.assign(location.pathname + location.search);
    });
    if (above) form.prepend(line); else form.append(line);
  }

  function note(form, name) {
    const key = keyOf(form), typed = now(form, name);
    const draft = load(key) || { uid: form.elements.uid.value, head: form.elements.head?.value, values: {} };
    draft.typed = Date.now();
    draft.title = document.querySelector("h1")?.textContent.trim() || "";
    if (same(typed, began(form, name)) && !cameBack(form)) delete draft.values[name]; else draft.values[name] = typed;
    if (Object.keys(draft.values).length === 0) drop(form);
    else if (save(key, draft)) tell(form, false);
  }

  function fill(form, draft) {
    for (const [name, typed] of Object.entries(draft.values)) {
      const fields = fieldsOf(form, name);
      if (fields.length !== typed.length) continue; // another form now; what was typed is kept all the same
      fields.forEach((field, n) => {
        if (ticked(field)) field.checked = typed[n]; else field.value = typed[n];
        for (let d = field.closest("details"); d; d = d.parentElement.closest("details")) d.open = true;
      });
    }
    form.elements.uid.value = draft.uid;
    if (draft.head && form.elements.head) form.elements.head.value = draft.head;
    tell(form, true);
  }

  // Whether a draft is to be shown: not if the journal says that just this was written.
  async function stands(key, draft) {
    const visit = key.match(/^draft \/v\/([^/]+)\//);
    const asked = new URLSearchParams({ uid: draft.uid, visit: visit ? visit[1] : "" });
    const answer = await fetch(`/kept?${asked}`).then((r) => (r.ok ? r.text() : "")).catch(() => "");
    if (answer !== "yes") return true;
    return goneOn(key, draft);
  }

  // What was sent is written: of the draft only what was typed since stands, for an entry of its own.
  function goneOn(key, draft) {
    const done = JSON.parse(draft.sent || "{}");
    for (const name of Object.keys(draft.values)) if (same(draft.values[name], done[name])) delete draft.values[name];
    if (Object.keys(draft.values).length === 0) { shelf.removeItem(key); return false; }
    draft.uid = [...crypto.getRandomValues(new Uint8Array(16))].map((b) => b.toString(16).padStart(2, "0")).join("");
    delete draft.sent;
    delete draft.head;
    return save(key, draft);
  }

  async function bringBack(form) {
    const key = keyOf(form), draft = load(key);
    if (!draft) return;
    if (cameBack(form)) tell(form, false); // it stands in the form as it was sent
    else if (await stands(key, draft) && form.isConnected) fill(form, draft);
  }

  // On the first page of a visit: the forms that were begun and left.
  async function list() {
    const place = document.getElementById("drafts");
    if (!place) return;
    const links = [];
    for (const key of Object.keys(shelf).filter((k) => k.startsWith(`${PREFIX}${place.dataset.base}/`))) {
      const draft = load(key);
      if (!draft || !(await stands(key, draft))) continue;
      const link = document.createElement("a");
      link.href = key.slice(PREFIX.length).replace(/ \S*$/, "");
      link.textContent = draft.title || link.pathname;
      links.push(link);
    }
    const list = place.querySelector("ul");
    list.replaceChildren(...links.map((link) => { const item = document.createElement("li"); item.append(link); return item; }));
    place.hidden = links.length === 0;
  }

  function arrived() {
    Object.keys(shelf).filter((k) => k.startsWith(PREFIX)).forEach(load);
    [...document.forms].filter(ours).forEach(bringBack);
    list();
  }

  document.addEventListener("input", (event) => {
    if (ours(event.target.form) && kept(event.target)) note(event.target.form, event.target.name);
  });
  document.addEventListener("submit", (event) => {
    if (!ours(event.target)) return;
    const key = keyOf(event.target), draft = load(key);
    if (draft) save(key, { ...draft, sent: JSON.stringify(draft.values) });
  }, true);
  document.addEventListener("htmx:after:request", (event) => {
    const form = event.target, status = event.detail.ctx?.response?.status;
    if (!ours(form) || !status || status >= 400) return;
    const key = keyOf(form), draft = load(key);
    if (draft?.sent && !goneOn(key, draft)) drop(form);
  });
  document.addEventListener("arrived", arrived);
  arrived();
})();
