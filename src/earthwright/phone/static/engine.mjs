// The worker that thinks: wakes the Python, puts the journal under it, and answers requests one after another.
import { loadPyodide } from "/phone/pyodide.mjs";
import create from "/phone/pyodide.asm.mjs";
import { boot, gather } from "/phone/boot.mjs";
import { mount, openHandles } from "/phone/disk.mjs";

async function wake() {
  const [files, handles] = await Promise.all([gather(create), openHandles()]);
  const { py, flushes } = await boot(loadPyodide, "/phone/", files);
  mount(py.FS, handles);
  const engine = py.pyimport("earthwright.phone.engine").Engine(outside);
  return { py, flushes, engine };
}

// ---- what takes long is done by a second worker of each kind, which is closed after use ----
const REST = { press: 15e3, weigh: 60e3 }, helpers = {};
let count = 0;
function outside(kind, work, number) {
  const helper = (helpers[kind] ||= begin(kind)), content = work.toJs ? work.toJs() : work, id = (count += 1);
  clearTimeout(helper.rest);
  postMessage({ busy: kind });
  return new Promise((done, failed) => {
    helper.waiting.set(id, { done, failed });
    helper.worker.postMessage({ id, kind, work: content, number });
  });
}
function begin(kind) {
  const helper = { worker: new Worker("/phone/helper.mjs", { type: "module" }), waiting: new Map() };
  helper.worker.onmessage = ({ data: { id, content, failed } }) => {
    const asked = helper.waiting.get(id);
    helper.waiting.delete(id);
    if (failed) { console.warn(kind, failed); end(kind, helper); asked.failed(new Error(failed)); } else asked.done(content);
    if (!helper.waiting.size) { helper.rest = setTimeout(() => end(kind, helper), REST[kind]); postMessage({ idle: kind }); }
  };
  helper.worker.onerror = (event) => {
    end(kind, helper);
    for (const { failed } of helper.waiting.values()) failed(new Error(event.message || "the worker was ended"));
    postMessage({ idle: kind });
  };
  return helper;
}
function end(kind, helper) {
  helper.worker.terminate();
  if (helpers[kind] === helper) delete helpers[kind];
}

const awake = wake();
// What Python says of it stands in the last line; the program's own words follow the name of the error.
awake.catch((error) => postMessage({ failed: String(error.message || error).trim().split("\n").at(-1).replace(/^[\w.]+: /, "") }));

// Each answer says how often SQLite has flushed to the disk so far.
async function answer({ method, path, query, headers, body }) {
  const { py, engine, flushes } = await awake;
  const told = py.toPy(headers), sent = py.toPy(new Uint8Array(body || []));
  try {
    const made = await engine.answer(method, path, query, told, sent);
    const [status, kept, content] = made.toJs({ create_pyproxies: false });
    made.destroy();
    return { status, headers: kept, body: content, flushes: flushes.count };
  } finally { told.destroy(); sent.destroy?.(); }
}

// One after another, in the order they came, but for what waits for another worker: meanwhile others are answered.
function serve(port) {
  port.onmessage = ({ data }) => {
    answer(data.request).then(
      (made) => port.postMessage({ id: data.id, answer: made }, [made.body.buffer]),
      (error) => port.postMessage({ id: data.id, answer: { status: 500, headers: [["content-type", "text/plain"]], body: new TextEncoder().encode(String(error)), flushes: 0 } }),
    );
  };
}
onmessage = ({ data, ports }) => { if (data.port) serve(ports[0]); };
