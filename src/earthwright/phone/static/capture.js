// A reading written down before the program is awake: digits, what, when. It is in this browser's own store, and flushed
// there, before the page says so; when the program is awake it goes into the visit as a note that waits to be placed.
"use strict";
(() => {
  const $ = (id) => document.getElementById(id);
  const shelf = new Promise((done, failed) => {
    const asked = indexedDB.open("earthwright", 1);
    asked.onupgradeneeded = () => asked.result.createObjectStore("written", { keyPath: "uid" });
    asked.onsuccess = () => done(asked.result);
    asked.onerror = () => failed(asked.error);
  });
  async function act(mode, does) {
    const db = await shelf;
    return new Promise((done, failed) => {
      const turn = db.transaction("written", mode, { durability: "strict" }), asked = does(turn.objectStore("written"));
      turn.oncomplete = () => done(asked.result);
      turn.onerror = turn.onabort = () => failed(turn.error);
    });
  }
  const inOrder = async () => (await all()).sort((a, b) => (a.place || 0) - (b.place || 0));
  const all = () => act("readonly", (s) => s.getAll());
  const uid = () => [...crypto.getRandomValues(new Uint8Array(16))].map((b) => b.toString(16).padStart(2, "0")).join("");
  const known = () => { try { return JSON.parse(localStorage.getItem("places")) || {}; } catch { return {}; } };

  function line(one, words) {
    const item = document.createElement("li");
    item.textContent = `${one.at} ${one.digits}, ${one.what}${words ? `: ${words}` : ""}`;
    return item;
  }
  async function show() { $("waiting").replaceChildren(...(await inOrder()).map((one) => line(one, one.why))); }

  $("quick").addEventListener("submit", async (event) => {
    event.preventDefault();
    const form = event.target, { digits, what } = form.elements;
    const one = { uid: uid(), digits: digits.value.trim(), what: what.value.trim(), at: new Date().toTimeString().slice(0, 8), visit: known().visit || "" };
    try {
      one.place = 1 + Math.max(0, ...(await all()).map((other) => other.place || 0)); // a clock may be put back, and midnight comes
      await act("readwrite", (s) => s.add(one));
      form.reset();
      $("kept").hidden = false;
      digits.focus();
      await show();
      if (document.body.dataset.awake) drain();
    } catch (error) {
      $("kept").hidden = true;
      $("state").textContent = error?.name === "QuotaExceededError"
        ? "There is no room left on this phone. It was not written down; write it on paper." : `It was not written down (${error?.name || error}). Write it on paper.`;
    }
  });

  // Into the journal, in the order they were written. One id each: sent twice it is there once.
  async function drain() {
    let visit = "", count = 0;
    for (const one of await inOrder()) {
      const answer = await fetch("/written", { method: "POST", body: new URLSearchParams(one) }).catch(() => null);
      const words = answer ? await answer.text() : "";
      if (answer?.ok) {
        await act("readwrite", (s) => s.delete(one.uid));
        visit = words.replace("kept ", "");
        count += 1;
      } else if (words) await act("readwrite", (s) => s.put({ ...one, why: words }));
    }
    await show();
    if (count) document.dispatchEvent(new CustomEvent("written", { detail: { visit, count } }));
  }
  document.addEventListener("awake", drain);

  // What can be read in this visit, for the next time the program sleeps.
  document.addEventListener("page", ({ detail: page }) => {
    const visit = /^\/v\/([^/]+)\/$/.exec(page.location.pathname)?.[1];
    if (!visit) return;
    const places = [...page.querySelectorAll("main ul.rows b")].map((b) => b.textContent.trim());
    try { localStorage.setItem("places", JSON.stringify({ visit, places })); } catch { /* only a comfort */ }
  });
  $("quick-places").replaceChildren(...(known().places || []).map((name) => new Option("", name)));
  show().catch(() => {}); // a store that is denied says so when something is to be kept
  performance.mark("usable");
})();
