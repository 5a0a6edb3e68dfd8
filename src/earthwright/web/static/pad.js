// A signature by finger, pen or mouse: strokes of whole numbers on a pad of 300 x 100, put into the hidden field beside it.
"use strict";
(() => {
  const WIDE = 300, HIGH = 100, MOST_POINTS = 1400, MOST_STROKES = 60, NEAR = 2;
  let stroke = null; // the one that is being drawn
  const field = (pad) => pad.querySelector("input[type=hidden]");
  const strokes = (pad) => field(pad).value.split(";").filter(Boolean);
  const count = (all) => all.reduce((n, s) => n + s.split(" ").length / 2, 0);

  function show(pad, more = []) {
    const all = [...strokes(pad), ...more];
    const line = (s) => s.split(" ").reduce((d, n, i) => d + (i ? (i % 2 ? " " : "L") : "M") + n, "") + (s.split(" ").length === 2 ? "l.1 0" : "");
    pad.querySelector("path:not(.line)").setAttribute("d", all.map(line).join(""));
  }
  function say(pad, full) {
    const place = pad.querySelector("[role=status]"), some = strokes(pad).length > 0;
    place.textContent = full ? place.dataset.full : some ? place.dataset.some : place.dataset.none;
  }
  function keep(pad, all, full) {
    field(pad).value = all.join(";");
    show(pad);
    say(pad, full);
  }
  function at(pad, event) {
    const box = pad.querySelector("svg").getBoundingClientRect();
    const within = (v, most) => Math.max(0, Math.min(most, Math.round(v)));
    return [within((event.clientX - box.left) / box.width * WIDE, WIDE), within((event.clientY - box.top) / box.height * HIGH, HIGH)];
  }
  document.addEventListener("pointerdown", (event) => {
    const svg = event.target.closest(".pad svg");
    if (!svg || !event.isPrimary || event.button) return;
    const pad = svg.closest(".pad"), all = strokes(pad);
    event.preventDefault();
    if (all.length >= MOST_STROKES || count(all) >= MOST_POINTS) return say(pad, true);
    svg.setPointerCapture(event.pointerId);
    stroke = { pad, points: at(pad, event), room: MOST_POINTS - count(all) };
    show(pad, [stroke.points.join(" ")]);
  });
  document.addEventListener("pointermove", (event) => {
    if (!stroke) return;
    const found = event.getCoalescedEvents?.() || [];
    for (const one of found.length ? found : [event]) {
      const [x, y] = at(stroke.pad, one), [a, b] = stroke.points.slice(-2);
      if (Math.hypot(x - a, y - b) >= NEAR && stroke.points.length / 2 < stroke.room) stroke.points.push(x, y);
    }
    show(stroke.pad, [stroke.points.join(" ")]);
  });
  for (const end of ["pointerup", "pointercancel"]) document.addEventListener(end, () => {
    if (!stroke) return;
    const { pad, points, room } = stroke;
    stroke = null;
    keep(pad, [...strokes(pad), points.join(" ")], points.length / 2 >= room);
  });
  document.addEventListener("click", (event) => {
    const key = event.target.closest("[data-pad]");
    if (!key) return;
    const pad = key.closest(".pad");
    keep(pad, key.dataset.pad === "clear" ? [] : strokes(pad).slice(0, -1));
  });
  function arrived() { document.querySelectorAll(".pad").forEach((pad) => { show(pad); say(pad); }); }
  document.addEventListener("arrived", arrived);
  arrived();
})();
