// Build time, in node: compiles Python files with the very Python that will read them, and makes the memory snapshot.
//   node make.mjs compile RUNTIME FOLDER…           every .py below the folders becomes a .pyc in its place
//   node make.mjs snapshot RUNTIME PARTS TARGET     PARTS holds stdlib.zip, libraries.zip and site.zip
//   node make.mjs judge RUNTIME PARTS VISIT…        hashes of the visits' records, one a line (for the tests)
//   node make.mjs brotli FILE…                      how large each is for a host that packs what it sends
import { readFileSync, writeFileSync } from "node:fs";
import { pathToFileURL } from "node:url";
import { brotliCompressSync, constants } from "node:zlib";
import { boot } from "./static/boot.mjs";

const [verb, ...rest] = process.argv.slice(2);

async function awake(runtime, parts, making) {
  const at = (name) => pathToFileURL(`${runtime}/${name}`).href;
  const { loadPyodide } = await import(at("pyodide.mjs"));
  const { default: create } = await import(at("pyodide.asm.mjs"));
  const info = JSON.parse(readFileSync(`${runtime}/pyodide-lock.json`)).info;
  const of = (name) => new Uint8Array(readFileSync(`${parts}/${name}`));
  const files = { create, info, stdlib: `${parts}/stdlib.zip`, libraries: of("libraries.zip"), site: of("site.zip") };
  return (await boot(loadPyodide, `${runtime}/`, files, making)).py;
}

async function plain(runtime) {
  const { loadPyodide } = await import(pathToFileURL(`${runtime}/pyodide.mjs`).href);
  return loadPyodide({ indexURL: `${runtime}/`, lockFileContents: readFileSync(`${runtime}/pyodide-lock.json`, "utf-8") });
}

// The runtime is one line of a million letters, which node would show with every error.
process.on("uncaughtException", (error) => { console.error(error.message); process.exitCode = 1; });

if (verb === "compile") {
  const [runtime, ...folders] = rest;
  const py = await plain(runtime);
  folders.forEach((folder, n) => {
    py.FS.mkdirTree(`/f${n}`);
    py.FS.mount(py.FS.filesystems.NODEFS, { root: folder }, `/f${n}`);
    const kept = py.toPy(process.env.KEPT_AS_TEXT || "//");
    py.globals.set("root", `/f${n}`);
    py.globals.set("kept", kept);
    py.runPython(`
import os, py_compile
for folder, _, names in os.walk(root):
    for name in names:
        path = os.path.join(folder, name)
        inside = os.path.relpath(path, root)
        if name.endswith(".py") and not inside.startswith(kept):
            # Libraries without their help texts; our own have them, because the single sums are named by theirs.
            spare = 0 if inside.startswith("earthwright/") else 2
            mode = py_compile.PycInvalidationMode.UNCHECKED_HASH
            py_compile.compile(path, path + "c", inside, doraise=True, optimize=spare, invalidation_mode=mode)
            os.unlink(path)
`);
  });
} else if (verb === "snapshot") {
  const [runtime, parts, target] = rest;
  const py = await awake(runtime, parts, true);
  py.runPython("from earthwright.phone import engine; engine.rehearse()");
  writeFileSync(target, py.makeMemorySnapshot());
} else if (verb === "judge") {
  const [runtime, parts, ...visits] = rest;
  const py = await awake(runtime, parts, false);
  py.runPython("from earthwright.phone.same import hash_of_text");
  const hash = py.globals.get("hash_of_text");
  for (const path of visits) console.log(hash(readFileSync(path, "utf-8")), path);
} else if (verb === "brotli") {
  for (const path of rest) {
    const packed = brotliCompressSync(readFileSync(path), { params: { [constants.BROTLI_PARAM_QUALITY]: 9, [constants.BROTLI_PARAM_LGWIN]: 24 } });
    console.log(packed.length, path);
  }
} else throw new Error(`unknown: ${verb}`);
process.exit();
