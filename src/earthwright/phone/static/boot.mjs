// Wakes the Python: the same for a page's worker, for the worker that weighs, and for the build that makes the snapshot.
// Nothing is fetched from anywhere else: the table of packages that the runtime could load is empty.

// files: stdlib (its address), site, libraries, snapshot (bytes), info (of the runtime), create (from pyodide.asm.mjs),
// compiled: the runtime as another worker has it, or left out
export async function boot(loadPyodide, indexURL, files, making = false) {
  const flushes = { count: 0 };
  const py = await loadPyodide({
    indexURL,
    stdLibURL: files.stdlib,
    lockFileContents: JSON.stringify({ info: files.info, packages: {} }),
    packageBaseUrl: indexURL,
    _makeSnapshot: making,
    _loadSnapshot: files.snapshot,
    createPyodideModule: (settings) => module(settings, files, flushes),
    env: { HOME: "/home/phone", TZ: zone() },
  });
  delete py._api.config._loadSnapshot; // it is in the memory now; once is enough
  py.FS.mkdirTree("/site");
  py.FS.writeFile("/libraries.zip", files.libraries);
  unpack(py.FS, files.site, "/site");
  if (files.snapshot) py.runPython("import random; random.seed()"); // it holds the state of its dice
  else py.runPython("import sys; sys.path[:0] = ['/site', '/libraries.zip']");
  const { compiled } = files;
  for (const name of Object.keys(files)) delete files[name];
  return { py, flushes, compiled };
}

// The files of this version, from the cache.
export async function gather(create, compiled) {
  const bytes = async (name) => new Uint8Array(await (await fetch(`/phone/${name}`)).arrayBuffer());
  const [site, libraries, snapshot, info] = await Promise.all([
    bytes("site.zip"), bytes("libraries.zip"), bytes("snapshot.bin"), fetch("/phone/runtime.json").then((r) => r.json()),
  ]);
  return { stdlib: "/phone/stdlib.zip", site, libraries, snapshot, info, create, compiled };
}

async function module(settings, files, flushes) {
  const instantiate = settings.instantiateWasm;
  settings.instantiateWasm = (imports, done) => {
    // The runtime's own fdatasync does nothing, and it is what SQLite calls before it says that a commit is on the disk.
    const stub = imports.env.__syscall_fdatasync;
    imports.env.__syscall_fdatasync = (fd) => {
      const stream = settings.FS ? settings.FS.getStream(fd) : null;
      if (!stream?.stream_ops?.fsync) return stub(fd);
      flushes.count += 1;
      return stream.stream_ops.fsync(stream);
    };
    // Compiled once for all workers: the others begin with what the first has made fast already.
    if (files.compiled) WebAssembly.instantiateStreaming = async (_, all) => ({ module: files.compiled, instance: await WebAssembly.instantiate(files.compiled, all) });
    return instantiate(imports, (instance, compiled) => {
      files.compiled = compiled;
      return done(instance, compiled);
    });
  };
  const made = await files.create(settings);
  if (files.snapshot) made.growMemory(files.snapshot.byteLength);
  return made;
}

// POSIX writes the offset the other way round: what lies east of Greenwich is minus.
function zone() {
  const minutes = new Date().getTimezoneOffset(), size = Math.abs(minutes);
  return `UTC${minutes < 0 ? "-" : "+"}${Math.floor(size / 60)}:${String(size % 60).padStart(2, "0")}`;
}

// An archive whose entries are stored, not compressed: read here, because Python's own way takes ten times as long.
export function unpack(FS, bytes, root) {
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength), text = new TextDecoder(), made = new Set();
  for (let at = 0; view.getUint32(at, true) === 0x04034b50;) {
    const size = view.getUint32(at + 18, true), name = view.getUint16(at + 26, true), extra = view.getUint16(at + 28, true);
    const path = `${root}/${text.decode(bytes.subarray(at + 30, at + 30 + name))}`, from = at + 30 + name + extra;
    const folder = path.slice(0, path.lastIndexOf("/"));
    if (!made.has(folder)) { FS.mkdirTree(folder); made.add(folder); }
    FS.writeFile(path, bytes.subarray(from, from + size));
    at = from + size;
  }
}
