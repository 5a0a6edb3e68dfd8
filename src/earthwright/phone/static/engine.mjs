// The worker that thinks: wakes the Python, puts the journal under it, and answers requests one after another.
import { loadPyodide } from "/phone/pyodide.mjs";
import create from "/phone/pyodide.asm.mjs";
import { boot } from "/phone/boot.mjs";
import { mount, openHandles } from "/phone/disk.mjs";

const bytes = async (name) => new Uint8Array(await (await fetch(`/phone/${name}`)).arrayBuffer());

async function wake() {
  const [site, libraries, snapshot, info, handles] = await Promise.all([
    bytes("site.zip"), bytes("libraries.zip"), bytes("snapshot.bin"), fetch("/phone/runtime.json").then((r) => r.json()), openHandles(),
  ]);
  const { py, flushes } = await boot(loadPyodide, "/phone/", { stdlib: "/phone/stdlib.zip", site, libraries, snapshot, info, create });
  mount(py.FS, handles);
  py.runPython("import random; random.seed()"); // a snapshot holds the state of its dice
  const engine = py.pyimport("earthwright.phone.engine").Engine();
  return { py, flushes, engine };
}

const awake = wake();
awake.catch((error) => postMessage({ failed: String(error) }));

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

// One after another: there is one journal and one Python.
let last = Promise.resolve();
function serve(port) {
  port.onmessage = ({ data }) => {
    last = last.then(() => answer(data.request)).then(
      (made) => port.postMessage({ id: data.id, answer: made }, [made.body.buffer]),
      (error) => port.postMessage({ id: data.id, answer: { status: 500, headers: [["content-type", "text/plain"]], body: new TextEncoder().encode(String(error)), flushes: 0 } }),
    );
  };
}
onmessage = ({ data, ports }) => { if (data.port) serve(ports[0]); };
