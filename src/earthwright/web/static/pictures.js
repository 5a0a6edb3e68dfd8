// A picture from a camera is made ready where it was taken: smaller, upright, and without what the camera wrote in it (place,
// device). A sketch is drawn with a finger on a grid. Both go into the file field of the form; the same limits as base/jpeg.py.
"use strict";
(() => {
  const LONGEST = 1280, LARGEST = 200_000, QUALITIES = [0.82, 0.74, 0.66, 0.58, 0.5, 0.4, 0.3];
  const blob = (canvas, quality) => new Promise((done) => canvas.toBlob(done, "image/jpeg", quality));
  async function fit(canvas) {
    for (const quality of QUALITIES) {
      const made = await blob(canvas, quality);
      if (made && made.size <= LARGEST) return new File([made], "photo.jpg", { type: "image/jpeg" });
    }
    return null;
  }
  function give(input, file) {
    const carried = new DataTransfer();
    carried.items.add(file);
    input.files = carried.files;
  }
  async function ready(input) {
    const file = input.files[0], save = input.form.querySelector("button.save");
    if (!file) return;
    save.disabled = true;
    try {
      const picture = await createImageBitmap(file);
      const share = Math.min(1, LONGEST / Math.max(picture.width, picture.height));
      const canvas = document.createElement("canvas");
      canvas.width = Math.round(picture.width * share);
      canvas.height = Math.round(picture.height * share);
      const pen = canvas.getContext("2d");
      pen.fillStyle = "#fff";
      pen.fillRect(0, 0, canvas.width, canvas.height);
      pen.drawImage(picture, 0, 0, canvas.width, canvas.height);
      const made = await fit(canvas);
      if (made) give(input, made);
    } catch { /* what no browser can read is refused in words when it is sent */ }
    save.disabled = false;
  }
  document.addEventListener("change", (event) => {
    if (event.target.matches('input[type="file"][name="photo"]')) ready(event.target);
  });

  // ---- the sketch: lines and words, the last of which can be taken back ----
  const drawn = new WeakMap();
  function paint(canvas) {
    const pen = canvas.getContext("2d"), { width, height } = canvas;
    pen.fillStyle = "#fff";
    pen.fillRect(0, 0, width, height);
    pen.lineWidth = 1;
    pen.strokeStyle = "#d4dadd";
    pen.beginPath();
    for (let x = 50; x < width; x += 50) { pen.moveTo(x, 0); pen.lineTo(x, height); }
    for (let y = 50; y < height; y += 50) { pen.moveTo(0, y); pen.lineTo(width, y); }
    pen.stroke();
    pen.strokeStyle = pen.fillStyle = "#16202a";
    pen.lineWidth = 6;
    pen.lineCap = pen.lineJoin = "round";
    pen.font = "600 34px sans-serif";
    for (const mark of drawn.get(canvas)) {
      if (mark.words) { pen.fillText(mark.words, ...mark.line[0]); continue; }
      pen.beginPath();
      mark.line.forEach(([x, y], n) => (n ? pen.lineTo(x, y) : pen.moveTo(x, y)));
      if (mark.line.length === 1) pen.lineTo(...mark.line[0]);
      pen.stroke();
    }
  }
  async function hand(canvas) {
    paint(canvas);
    const input = canvas.closest("form").querySelector('input[name="photo"]');
    if (!drawn.get(canvas).length) { input.value = ""; return; }
    const made = await fit(canvas);
    if (made) give(input, made);
  }
  function place(canvas, event) {
    const at = canvas.getBoundingClientRect();
    return [((event.clientX - at.left) * canvas.width) / at.width, ((event.clientY - at.top) * canvas.height) / at.height];
  }
  const sheet = (target) => target.closest?.("canvas[data-sketch]");
  let line = null;
  document.addEventListener("pointerdown", (event) => {
    const canvas = sheet(event.target);
    if (!canvas) return;
    const words = document.getElementById("f-words");
    const mark = { line: [place(canvas, event)], words: words.value.trim() };
    drawn.set(canvas, [...(drawn.get(canvas) || []), mark]);
    if (mark.words) { words.value = ""; return hand(canvas); }
    line = mark;
    canvas.setPointerCapture(event.pointerId);
    paint(canvas);
  });
  document.addEventListener("pointermove", (event) => {
    const canvas = line && sheet(event.target);
    if (canvas) { line.line.push(place(canvas, event)); paint(canvas); }
  });
  for (const end of ["pointerup", "pointercancel"]) {
    document.addEventListener(end, (event) => {
      const canvas = line && sheet(event.target);
      line = null;
      if (canvas) hand(canvas);
    });
  }
  document.addEventListener("click", (event) => {
    const button = event.target.closest("[data-sketch-back]");
    const canvas = button && button.closest("form").querySelector("canvas[data-sketch]");
    if (!canvas) return;
    drawn.set(canvas, (drawn.get(canvas) || []).slice(0, -1));
    hand(canvas);
  });
  function begin() {
    for (const canvas of document.querySelectorAll("canvas[data-sketch]")) {
      if (!drawn.has(canvas)) drawn.set(canvas, []);
      paint(canvas);
    }
    for (const input of document.querySelectorAll('input[type="file"][name="photo"]')) ready(input); // chosen before we came
  }
  document.addEventListener("arrived", begin);
  begin(); // this file comes when a page that needs it is there
})();
