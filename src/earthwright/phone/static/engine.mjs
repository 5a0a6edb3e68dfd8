// The worker that thinks: wakes the Python, puts the journal under it, and answers requests one after another.
import { loadPyodide } from "/phone/pyodide.mjs";
import create from "/phone/pyodide.asm.mjs";
import { boot, gather } from "/phone/boot.mjs";
import { mount, openHandles } from "/phone/disk.mjs";

async function wake() {
  const [files, handles] = await Promise.all([gather(create), openHandles()]);
  const { py, flushes, compiled } = await boot(loadPyodide, "/phone/", files);
  mount(py.FS, handles);
  const engine = py.pyimport("earthwright.phone.engine").Engine(outside, beside);
  return { py, flushes, engine, compiled };
}

// ---- what takes long is done by other workers, which are closed after use ----
const REST = 15e3, helpers = {};
// So many weigh at once, batch by batch, as the memory of the phone allows, a browser that does not tell it gets one, and
// one core is left to whoever types.
const beside = Math.max(1, Math.min(4, Math.floor((navigator.deviceMemory || 2) / 2), (navigator.hardwareConcurrency || 2) - 1));
let count = 0;
async function outside(kind, work, number) {
  const content = work.toJs ? work.toJs() : work, id = (count += 1), place = `${kind} ${number % beside}`;
  const { compiled } = await awake;
  postMessage({ busy: kind });
  const helper = (helpers[place] ||= begin(kind, place));
  clearTimeout(helper.rest);
  return new Promise((done, failed) => {
    helper.waiting.set(id, { done, failed });
    helper.worker.postMessage({ id, kind, work: content, number, compiled });
  });
}
function begin(kind, place) {
  const helper = { worker: new Worker("/phone/helper.mjs", { type: "module" }), waiting: new Map() };
  const idle = () => Object.entries(helpers).some(([at, one]) => at.startsWith(kind) && one.waiting.size) || postMessage({ idle: kind });
  const fail = (why) => {
    console.warn(kind, why);
    end(place, helper);
    helper.waiting.forEach(({ failed }) => failed(new Error(why)));
    helper.waiting.clear();
    idle();
  };
  helper.worker.onmessage = ({ data: { id, content, failed } }) => {
    if (failed) return fail(failed);
    helper.waiting.get(id).done(content);
    helper.waiting.delete(id);
    if (!helper.waiting.size) { helper.rest = setTimeout(() => end(place, helper), REST); idle(); }
  };
  helper.worker.onerror = (event) => fail(event.message || "the worker was ended");
  return helper;
}
function end(place, helper) {
  helper.worker.terminate();
  if (helpers[place] === helper) delete helpers[place];
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
