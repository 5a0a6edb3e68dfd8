// The frame around the pages: one tab leads and holds the engine, the others look on; files are handed over; updates wait.
"use strict";
const $ = (id) => document.getElementById(id);
let worker = null;

// ---- the leading tab ----
function lead() {
  worker = new Worker("/phone/engine.mjs", { type: "module" });
  worker.onmessage = ({ data }) => {
    if (data.busy === "press") bar("The paper is being made. The first time the PDF writer is fetched (18 MB).");
    if (data.idle === "press") $("bar").hidden = true;
    if (data.failed) {
      say(`The program cannot start here. ${data.failed} What is written below stays on this phone, and so does the journal.`);
      bar("The journal is whole on this phone.", ["Save a copy of it", saveJournal]);
    }
  };
  worker.onerror = (event) => say(`The program cannot start here: ${event.message || "the browser gives no reason"}.`);
  give();
  return new Promise(() => {}); // held until this tab goes
}
function give() {
  if (!worker || !navigator.serviceWorker.controller) return;
  const { port1, port2 } = new MessageChannel();
  worker.postMessage({ port: true }, [port1]);
  navigator.serviceWorker.controller.postMessage({ port: true }, [port2]);
}
// A signal came back: what waits is tried once, if this phone goes together with an office. By hand it goes on the page Office.
addEventListener("online", () => fetch("/together", { method: "POST", body: new URLSearchParams({ do: "signal" }) }).catch(() => {}));

document.addEventListener("written", ({ detail: { visit, count } }) => {
  const words = count === 1 ? "1 reading that was written down early is in the visit now." : `${count} readings that were written down early are in the visit now.`;
  bar(words, ["Enter it where it belongs", () => { $("pages").src = `/v/${visit}/`; $("bar").hidden = true; }]);
});
function say(words) { $("state").textContent = words; }

// ---- pages ----
function open() {
  const frame = document.createElement("iframe");
  frame.id = "pages";
  frame.title = "earthwright";
  frame.hidden = true;
  frame.addEventListener("load", () => {
    const inside = frame.contentWindow.location;
    if (inside.href === "about:blank") return;
    frame.hidden = false;
    if (!$("quick-digits").value && !$("quick-what").value) $("capture").hidden = true; // else: somebody is writing there
    else $("quick").addEventListener("reset", () => { $("capture").hidden = true; }, { once: true });
    document.title = frame.contentDocument.title || "earthwright";
    history.replaceState(null, "", inside.pathname + inside.search);
    if (!document.body.dataset.awake) {
      document.body.dataset.awake = "yes";
      document.dispatchEvent(new Event("awake"));
    }
    document.dispatchEvent(new CustomEvent("page", { detail: frame.contentDocument }));
  });
  frame.src = location.pathname === "/index.html" ? "/" : location.pathname + location.search;
  document.body.append(frame);
}

// ---- files and news, one line at the top ----
function bar(words, ...buttons) {
  const line = $("bar"), text = document.createElement("span");
  text.textContent = words;
  line.replaceChildren(text, ...buttons.map(([name, does]) => {
    const button = document.createElement("button");
    button.type = "button";
    button.textContent = name;
    button.addEventListener("click", does);
    return button;
  }), away());
  line.hidden = false;
}
function away() {
  const button = document.createElement("button");
  button.type = "button";
  button.className = "second";
  button.textContent = "Close";
  button.addEventListener("click", () => { $("bar").hidden = true; });
  return button;
}
function save(file) {
  const link = document.createElement("a");
  link.href = URL.createObjectURL(file);
  link.download = file.name;
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), 60e3);
}
// The journal's own files, for when the program cannot open them.
async function saveJournal() {
  const folder = await (await navigator.storage.getDirectory()).getDirectoryHandle("journal");
  for await (const handle of folder.values()) {
    const file = await handle.getFile();
    if (file.size) save(new File([file], handle.name));
  }
}
function hand(file) {
  const shares = navigator.canShare?.({ files: [file] });
  bar(`${file.name} is ready.`, ...(shares ? [["Share", () => navigator.share({ files: [file] }).catch(() => {})]] : []), ["Save", () => save(file)]);
}

// ---- a newer version waits for the next start ----
function newer(registration) {
  const tell = () => bar("A newer version is here. It is used at the next start.", ["Start it now", () => {
    registration.waiting?.postMessage({ now: true });
    navigator.serviceWorker.addEventListener("controllerchange", () => location.reload(), { once: true });
  }]);
  if (registration.waiting && navigator.serviceWorker.controller) tell();
  registration.addEventListener("updatefound", () => {
    const coming = registration.installing;
    coming.addEventListener("statechange", () => { if (coming.state === "installed" && navigator.serviceWorker.controller) tell(); });
  });
}

// Where the browser lets a page ask, installing is one tap, offered when nobody is kept from writing by it; elsewhere it
// stands in the browser's own menu.
addEventListener("beforeinstallprompt", (event) => {
  event.preventDefault();
  const offer = () => {
    if ($("bar").hidden) bar("Install it: it gets an icon and a window of its own, and the browser keeps what is written.", ["Install", () => { $("bar").hidden = true; event.prompt(); }]);
  };
  if (document.body.dataset.awake) offer();
  else document.addEventListener("awake", offer, { once: true });
});

// Storage that the browser may not clear by itself is asked for; what is left of it is said while there is time to act.
async function room() {
  const promised = await navigator.storage.persist?.();
  const { usage, quota } = await navigator.storage.estimate(), left = quota - usage;
  const size = left > 1e9 ? `${(left / 1e9).toFixed(1)} GB` : `${Math.max(0, Math.floor(left / 1e6))} MB`;
  $("room").textContent = `Room left on this phone: ${size}.`;
  if (!promised) document.addEventListener("awake", () => setTimeout(unpromised, 3e3), { once: true });
  if (left < 50e6) bar(`Only ${size} of room is left. Make room before the next photos; what is kept stays kept.`);
}

// A private tab is one of those that promise nothing, and no page can tell it from others: said once while it is open.
function unpromised() {
  if (!$("bar").hidden || sessionStorage.getItem("told")) return;
  sessionStorage.setItem("told", "yes");
  bar("This browser does not promise to keep what is written: install the program, or hand each visit over. When a private tab is closed, all in it is gone.");
}

async function start() {
  if (!("serviceWorker" in navigator) || !navigator.locks || !navigator.storage?.getDirectory) {
    return say("This browser cannot hold the program: it needs HTTPS and a browser of the last years, not a private tab.");
  }
  navigator.serviceWorker.addEventListener("message", ({ data }) => {
    if (data.wanted) give();
    if (data.file) hand(data.file);
  });
  const registration = await navigator.serviceWorker.register("/sw.js");
  newer(registration);
  if (!navigator.serviceWorker.controller) {
    say("Fetching the program, once. After that it works without any network.");
    await new Promise((done, failed) => {
      navigator.serviceWorker.addEventListener("controllerchange", done, { once: true });
      const coming = registration.installing;
      coming?.addEventListener("statechange", () => { if (coming.state === "redundant") failed(new Error("not all of it came, or there is no room for it")); });
    });
    say("Waking up. A reading can be written down now.");
  }
  navigator.locks.request("engine", lead);
  room();
  open();
}
// Whoever wants to write comes first: nothing begins before the page is painted, if anybody sees it.
const painted = new Promise((done) => (document.hidden ? done() : requestAnimationFrame(() => setTimeout(done))));
painted.then(start).catch((error) => say(
  error.name === "SecurityError" || error.name === "NotSupportedError"
    ? "The program cannot be kept here: this browser is told to store nothing for this address, or the certificate of the address is not trusted. Allow it to store (cookies), or have the certificate trusted."
    : `The program cannot be fetched: ${error.message}. Try again with a signal.`,
));
