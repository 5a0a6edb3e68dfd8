// Build time, in node: compiles Python files with the very Python that will read them, and makes the memory snapshot.
//   node make.mjs compile RUNTIME FOLDER…           every .py below the folders becomes a .pyc in its place
//   node make.mjs snapshot RUNTIME PARTS TARGET     PARTS holds stdlib.zip, libraries.zip and site.zip; prints whose code it holds
//   node make.mjs pack RUNTIME EFFORT FILE…         FILE.packed beside each, as the phone unpacks it
//   node make.mjs judge RUNTIME FOLDER VISIT…       hashes of the visits' records, one a line (for the tests)
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { createRequire } from "node:module";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { pathToFileURL } from "node:url";
import { boot } from "./static/boot.mjs";

const [verb, ...rest] = process.argv.slice(2);

// of: bytes of a file by its name
async function awake(runtime, of, making) {
  const at = (name) => pathToFileURL(`${runtime}/${name}`).href;
  const { loadPyodide } = await import(at("pyodide.mjs"));
  const { default: create } = await import(at("pyodide.asm.mjs"));
  const info = JSON.parse(readFileSync(`${runtime}/pyodide-lock.json`)).info;
  const folder = mkdtempSync(join(tmpdir(), "earthwright-")), stdlib = `${folder}/stdlib.zip`;
  process.on("exit", () => rmSync(folder, { recursive: true }));
  writeFileSync(stdlib, of("stdlib.zip"));
  const files = { create, info, stdlib, libraries: of("libraries.zip"), site: of("site.zip"), snapshot: making ? undefined : of("snapshot.bin") };
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
  const py = await awake(runtime, (name) => new Uint8Array(readFileSync(`${parts}/${name}`)), true);
  console.log(py.runPython("from earthwright.phone import engine; engine.rehearse()"));
  blank(py._module);
  writeFileSync(target, py.makeMemorySnapshot());
} else if (verb === "pack") {
  const [runtime, effort, ...files] = rest;
  const py = await plain(runtime);
  // A larger window makes unpacking slower; only the PDF writer, fetched when a paper is wanted, is so much smaller with one.
  py.runPython(`
from compression import zstd
P = zstd.CompressionParameter
def pack(content, effort, window):
    return zstd.compress(content.to_py(), options={P.compression_level: effort, P.window_log: window, P.checksum_flag: 1})
`);
  for (const file of files) {
    const made = py.globals.get("pack")(new Uint8Array(readFileSync(file)), Number(effort), file.endsWith("press.zip") ? 24 : 22);
    writeFileSync(`${file}.packed`, made.toJs());
    made.destroy();
  }
} else if (verb === "judge") {
  const [runtime, folder, ...visits] = rest;
  const unpack = createRequire(import.meta.url)(`${folder}/phone/unpack.js`);
  const py = await awake(runtime, (name) => unpack.decompress(readFileSync(`${folder}/phone/${name}.packed`)), false);
  py.runPython("from earthwright.phone.same import hash_of_text");
  const hash = py.globals.get("hash_of_text");
  for (const path of visits) console.log(hash(readFileSync(path, "utf-8")), path);
} else throw new Error(`unknown: ${verb}`);
process.exit();

// What was let go of still lies in the memory, and would be packed and fetched with it.
function blank(module) {
  const held = [];
  for (let size = 65536; size >= 8; size /= 2) {
    const top = module._sbrk(0);
    while (module._sbrk(0) === top) {
      const at = module._malloc(size);
      module.HEAPU8.fill(0, at, at + size);
      held.push(at);
    }
  }
  held.forEach((at) => module._free(at));
}
