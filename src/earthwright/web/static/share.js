// Hands an issued document to another program of the phone, where the browser can; else the button stays hidden.
"use strict";
(() => {
  const fetched = new Map();
  function can(name) {
    try { return navigator.canShare?.({ files: [new File(["%PDF-"], name, { type: "application/pdf" })] }) || false; } catch { return false; }
  }
  async function file(button) {
    const { share, name } = button.dataset;
    if (!fetched.has(share)) {
      const answer = await fetch(share);
      if (!answer.ok) throw new Error(String(answer.status));
      fetched.set(share, new File([await answer.blob()], name, { type: "application/pdf" }));
    }
    return fetched.get(share);
  }
  document.addEventListener("click", async (event) => {
    const button = event.target.closest("[data-share]");
    if (!button) return;
    try {
      const one = await file(button);
      await navigator.share({ files: [one], title: one.name });
    } catch (error) { // a tap counts for some seconds only: with the file at hand the next one is in time
      if (error.name === "NotAllowedError") button.textContent = button.dataset.again;
      else if (error.name !== "AbortError") unanswered(document.getElementById("lost").dataset.lost);
    }
  });
  function arrived() { document.querySelectorAll("[data-share]").forEach((b) => { b.hidden = !can(b.dataset.name); }); }
  document.addEventListener("arrived", arrived);
  arrived();
})();
