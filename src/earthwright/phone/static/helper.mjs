// A second Python beside the engine, without the journal: it weighs, or it prints. The engine begins it when there is
// something to do, and ends it when there has been nothing for a while, so that its memory is given back.
import { loadPyodide } from "/phone/pyodide.mjs";
import create from "/phone/pyodide.asm.mjs";
import { boot, gather, unpack } from "/phone/boot.mjs";

async function wake(kind, compiled) {
  const [files, press] = await Promise.all([gather(create, compiled), kind === "press" ? bytes("/phone/press.zip") : null]);
  const { py } = await boot(loadPyodide, "/phone/", files);
  if (press) {
    unpack(py.FS, press, "/press");
    py.runPython("import sys; sys.path.insert(0, '/press')");
  }
  return { py, away: py.pyimport("earthwright.phone.away") };
}
async function bytes(name) {
  const answer = await fetch(name);
  if (!answer.ok) throw new Error(`${name}: ${answer.status}`);
  return new Uint8Array(await answer.arrayBuffer());
}

let awake = null;
onmessage = async ({ data: { id, kind, work, number, compiled } }) => {
  try {
    const { py, away } = await (awake ||= wake(kind, compiled)), told = py.toPy(work);
    const made = kind === "press" ? away.press(told) : away.weigh(told, number);
    const content = made.toJs();
    made.destroy();
    told.destroy?.();
    postMessage({ id, content }, [content.buffer]);
  } catch (error) { postMessage({ id, failed: String(error) }); }
};
