// Readings by voice, where the browser has recognition of its own and the device's owner switched it on. What was heard
// stands in large digits and goes into the field only after a tap; words that are no reading are shown and never guessed at.
"use strict";
(() => {
  const ONES = ["nought", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve",
    "thirteen", "fourteen", "fifteen", "sixteen", "seventeen", "eighteen", "nineteen"];
  const TENS = ["twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety"];
  const NUMBER = new Map([...ONES.map((w, n) => [w, n]), ...TENS.map((w, n) => [w, 20 + 10 * n]), ["zero", 0], ["oh", 0], ["o", 0],
    ["naught", 0], ["nil", 0], ["to", 2], ["too", 2], ["for", 4], ["fore", 4], ["fourty", 40], ["ate", 8], ["won", 1]]);
  const UNIT = { "Ω": "ohms?|ω", "MΩ": "megs?|mega? ?ohms?|mω", ms: "milli ?seconds?|ms", s: "seconds?|s", A: "amp(?:ere)?s?|a", mA: "milli ?amp(?:ere)?s?|ma",
    kA: "kilo ?amp(?:ere)?s?|ka", V: "volts?|v", m: "met(?:re|er)s?|m" };
  const OVER = /^(over|out of|off) ?(the )?(range|scale)$/;
  const MORE = /^(greater than|more than|above|over)\b/, LESS = /^(less than|smaller than|below|under)\b/;

  // "two ninety-nine" is 299, "one hundred and five" 105, "double three" 33; empty where a word is none of a number.
  function whole(words) {
    let said = "", sum = null, part = 0; // digits one after another, or a sum as soon as hundreds are named
    if (words.some((w) => w === "hundred" || w === "thousand")) {
      for (const w of words) {
        const n = NUMBER.get(w) ?? (/^\d+$/.test(w) ? Number(w) : null);
        if (w === "and") continue;
        if (w === "hundred" && part > 0 && part < 10) part *= 100;
        else if (w === "thousand" && part > 0 && sum === null) { sum = part * 1000; part = 0; }
        else if (n !== null && (part % 100 === 0 || (part % 10 === 0 && part % 100 >= 20 && n > 0 && n < 10)) && n < 100) part += n;
        else return "";
      }
      return String((sum ?? 0) + part);
    }
    for (let i = 0; i < words.length; i++) {
      const times = { double: 2, treble: 3, triple: 3 }[words[i]], word = times ? words[++i] : words[i];
      const n = NUMBER.get(word);
      if (n === undefined && !/^\d+$/.test(word ?? "")) return "";
      const next = NUMBER.get(words[i + 1]);
      if (n >= 20 && next > 0 && next < 10 && !times) { said += n + next; i++; } else said += String(n ?? word).repeat(times || 1);
    }
    return said;
  }

  // What a display showed, out of what was said: "nought point four seven" is 0.47, "greater than two ninety-nine" >299.
  function digitsOf(text, unit = "") {
    let rest = text.toLowerCase().replace(/[-–]/g, " ").replace(/(\d),(?=\d{3}\b)/g, "$1").replace(/[.?!]+$/, "").replace(/\s+/g, " ").trim();
    if (OVER.test(rest)) return "over-range";
    let sign = "";
    rest = rest.replace(/^([<>])\s?/, (_, s) => { sign = s; return ""; });
    if (!sign && MORE.test(rest)) sign = ">"; else if (!sign && LESS.test(rest)) sign = "<";
    rest = rest.replace(MORE, "").replace(LESS, "").trim();
    if (UNIT[unit]) rest = rest.replace(new RegExp(`(?<=[\\s\\d])(?:${UNIT[unit]})$`), "").trim();
    const parts = rest.replace(/\./g, " point ").replace(/\b(dot|decimal)\b/g, "point").split(/\bpoint\b/).map((p) => p.trim().split(" ").filter(Boolean));
    if (parts.length > 2 || (parts.length === 2 && !parts[1].length)) return "";
    if (parts[1]?.some((w) => w === "hundred" || w === "thousand")) return "";
    const [before, after] = parts.map(whole);
    if ((parts[0].length && !before) || (parts.length === 2 && !after) || (!before && parts.length === 1)) return "";
    return sign + (before || "0") + (parts.length === 2 ? `.${after}` : "");
  }
  window.digitsOf = digitsOf;

  const Recognition = window.SpeechRecognition || window.webkitSpeechRecognition;
  const on = () => { try { return localStorage.getItem("speak") === "yes"; } catch { return false; } };
  const unitOf = (field) => field?.parentElement.querySelector("span[aria-hidden]")?.textContent.trim() || "";
  function made(tag, className, text, press) {
    const e = Object.assign(document.createElement(tag), { className, textContent: text });
    if (press) { e.type = "button"; e.addEventListener("click", press); }
    return e;
  }
  function listen(place) {
    const say = place.dataset, field = reading(), heard = place.querySelector(".heard");
    const show = (...nodes) => heard.replaceChildren(...nodes);
    if (!field) return show(made("p", "", say.none));
    const ear = new Recognition();
    Object.assign(ear, { lang: "en-GB", interimResults: false, maxAlternatives: 5, continuous: false });
    ear.onresult = (event) => {
      const said = [...event.results[0]].map((one) => one.transcript);
      const digits = said.map((s) => digitsOf(s, unitOf(field))).find(Boolean);
      if (!digits) return show(made("p", "wrong", say.unheard.replace("{said}", said[0])));
      const take = made("button", "", say.take, () => { if (field.isConnected) { put(field, digits); field.focus(); } show(); });
      const row = made("div", "buttons", "");
      row.append(take, made("button", "second", say.again, () => { show(); listen(place); }));
      show(made("p", "digits", `${digits} ${unitOf(field)}`), row);
      take.focus();
    };
    ear.onerror = (event) => show(made("p", "wrong", event.error === "not-allowed" ? say.refused : say.failed));
    show(made("p", "soft", say.listening));
    ear.start();
  }
  function arrived() {
    const setting = document.getElementById("speech");
    if (setting) {
      setting.hidden = !Recognition;
      const box = setting.querySelector("input");
      box.checked = on();
      box.onchange = () => { try { if (box.checked) localStorage.setItem("speak", "yes"); else localStorage.removeItem("speak"); } catch { box.checked = false; } };
    }
    for (const place of document.querySelectorAll(".speak")) {
      if (!Recognition || !on() || place.firstChild) continue;
      place.hidden = false;
      const heard = made("div", "heard", "");
      heard.setAttribute("role", "status");
      place.append(made("button", "second", place.dataset.speak, () => listen(place)), heard);
    }
  }
  document.addEventListener("arrived", arrived);
  arrived();
})();
