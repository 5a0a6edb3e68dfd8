// The router: what the folder holds comes from the cache, everything else is asked of the engine in the leading tab.
// It holds nothing that matters, because the browser may end it whenever it likes.
"use strict";
const VERSION = "";
const FILES = {};
const LATER = {};
const OFFICE = "";

const CACHE = `earthwright ${VERSION}`, SHELL = "/index.html";
const WORKER = `default-src 'none'; script-src 'self' 'wasm-unsafe-eval'; connect-src 'self' ${OFFICE}; worker-src 'self'`;
const TYPES = {
  html: "text/html; charset=utf-8", css: "text/css", js: "text/javascript", mjs: "text/javascript", json: "application/json",
  svg: "image/svg+xml", png: "image/png", txt: "text/plain", wasm: "application/wasm", webmanifest: "application/manifest+json",
};
const later = (ms) => new Promise((done) => setTimeout(done, ms));

// Each file once and whole: one with another hash belongs to another version, and then nothing of this one is used.
async function fetched(name, [hash, packed]) {
  const bytes = String.fromCharCode(...hash.match(/../g).map((h) => parseInt(h, 16)));
  const answer = await fetch(new Request(packed ? `${name}.packed` : name, { cache: "no-cache", integrity: `sha256-${btoa(bytes)}` }));
  if (!answer.ok) throw new Error(`${name}: ${answer.status}`);
  const headers = { "content-type": TYPES[name.split(".").at(-1)] || "application/octet-stream", "x-content-type-options": "nosniff" };
  if (name.endsWith(".mjs")) headers["content-security-policy"] = WORKER;
  return new Response(packed ? answer.body.pipeThrough(unpacking()) : answer.body, { headers });
}
// While it comes in: no browser that we know unpacks this kind by itself, and the one that all know makes files a third larger.
function unpacking() {
  self.fzstd || importScripts("/phone/unpack.js"); // not at every start of the router: the first page waits for that
  let unpacker;
  return new TransformStream({
    start(out) { unpacker = new fzstd.Decompress((content) => out.enqueue(content)); },
    transform(content) { unpacker.push(content); },
    flush() { unpacker.push(new Uint8Array(), true); },
  });
}
async function keep(names) {
  const cache = await caches.open(CACHE);
  for (const [name, hash] of Object.entries(names)) {
    if (!(await cache.match(name))) await cache.put(name, await fetched(name, hash));
  }
}
addEventListener("install", (event) => event.waitUntil(keep(FILES)));
addEventListener("activate", (event) => event.waitUntil((async () => {
  for (const name of await caches.keys()) if (name.startsWith("earthwright ") && name !== CACHE) await caches.delete(name);
  await clients.claim();
})()));

// ---- the engine's port ----
let port = null, owner = "", asked = 0;
const waiting = new Map();
const alive = async () => port && owner && (await clients.get(owner));

addEventListener("message", (event) => {
  const { data } = event;
  if (data.port) {
    owner = event.source.id;
    port = event.ports[0];
    port.onmessage = ({ data: { id, answer } }) => { waiting.get(id)?.(answer); waiting.delete(id); };
  } else if (data.now) skipWaiting();
  else if (data.version) event.source.postMessage({ version: VERSION });
});

// Asks the engine. A tab that was closed gives no error, so it is looked for; the next one is asked the same once more:
// what a form writes has an id, and the same twice is written once.
async function ask(request, again = true) {
  while (!(await alive())) {
    port = null;
    for (const client of await clients.matchAll({ type: "window" })) client.postMessage({ wanted: true });
    await later(100);
  }
  const id = `${VERSION} ${(asked += 1)} ${Math.random()}`, from = owner;
  const answer = new Promise((done) => waiting.set(id, done));
  port.postMessage({ id, request });
  for (;;) {
    const found = await Promise.race([answer, later(300)]);
    if (found) return found;
    if (!(await clients.get(from))) {
      waiting.delete(id);
      if (again) return ask(request, false);
      return { status: 503, headers: [["content-type", "text/plain; charset=utf-8"]], body: "This tab was closed in the middle. Nothing is lost: send it again." };
    }
  }
}

async function engine(event) {
  const { request } = event, url = new URL(request.url);
  const body = request.method === "GET" || request.method === "HEAD" ? null : await request.arrayBuffer();
  const headers = [...request.headers, ["host", url.host], ["x-forwarded-proto", url.protocol.slice(0, -1)]];
  // A router is not told where a request comes from; our own pages always name themselves as the referrer.
  const from = request.referrer && new URL(request.referrer).origin;
  headers.push(["sec-fetch-site", from === url.origin ? "same-origin" : "cross-site"]);
  const made = await ask({ method: request.method, path: decodeURIComponent(url.pathname), query: url.search.slice(1), headers, body });
  const told = new Headers(made.headers);
  told.set("x-flushes", String(made.flushes));
  if (/^application\/(pdf|zip)/.test(told.get("content-type") || "") && request.mode === "navigate") return handOver(told, made.body);
  const bare = [101, 204, 205, 304].includes(made.status);
  return new Response(bare ? null : made.body, { status: made.status, headers: told });
}

// A finished file does not open in the frame: it goes to the phone's own share sheet or its downloads.
async function handOver(told, content) {
  const name = /filename="([^"]+)"/.exec(told.get("content-disposition") || "")?.[1] || "earthwright.pdf";
  const file = new File([content], name, { type: told.get("content-type") });
  for (const client of await clients.matchAll({ type: "window" })) if (client.frameType === "top-level") client.postMessage({ file });
  return new Response(null, { status: 204 });
}

addEventListener("fetch", (event) => {
  const { request } = event, url = new URL(request.url);
  if (url.origin !== location.origin) return;
  if (request.mode === "navigate" && request.destination === "document") event.respondWith(cached(SHELL));
  else if (url.pathname in FILES) event.respondWith(cached(url.pathname));
  else if (url.pathname in LATER) event.respondWith(onDemand(url.pathname));
  else if (url.pathname === "/sw.js" || url.pathname.startsWith("/phone/") || url.pathname.startsWith("/sync/")) event.respondWith(fetch(request));
  else event.respondWith(engine(event));
});
async function cached(name) {
  const cache = await caches.open(CACHE);
  return (await cache.match(name)) || fetched(name, FILES[name]);
}
async function onDemand(name) {
  await keep({ [name]: LATER[name] });
  return (await caches.open(CACHE)).match(name);
}
