// Has this device make or show a passkey, and sends what it answers with the form it belongs to.
"use strict";
(() => {
  const of = window.PublicKeyCredential, can = of?.parseCreationOptionsFromJSON && of?.parseRequestOptionsFromJSON;
  async function go(form) {
    const { make, show } = form.dataset;
    try {
      const found = make
        ? await navigator.credentials.create({ publicKey: of.parseCreationOptionsFromJSON(JSON.parse(make)) })
        : await navigator.credentials.get({ publicKey: of.parseRequestOptionsFromJSON(JSON.parse(show)) });
      form.elements.answer.value = JSON.stringify(found.toJSON());
      form.submit();
    } catch { form.querySelector("[role=status]").textContent = form.dataset.failed; }
  }
  document.addEventListener("submit", (event) => {
    const form = event.target.closest("form[data-passkey]");
    if (!form) return;
    event.preventDefault();
    go(form);
  });
  function arrived() {
    document.querySelectorAll("[data-if=passkey]").forEach((one) => { one.hidden = !can; });
    document.querySelectorAll("[data-unless=passkey]").forEach((one) => { one.hidden = can; });
    const form = can && document.querySelector("form[data-passkey]:not([data-begun])");
    if (form) { form.dataset.begun = "yes"; go(form); }
  }
  document.addEventListener("arrived", arrived);
  arrived();
})();
