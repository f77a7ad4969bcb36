// The page script: everything here makes quicker what the page already does without it.
//   ring rail    a click, the arrow keys and the number box choose a ring; the chosen ring lives in the address
//   swap         the next page is fetched and its parts put in place, with history; a link does the same, only slower
//   cursor       one line through all strips, stepping to the place each push has there; values in the reading column
//   live         a closed ring is announced in the title block and the page is read again; a lost feed blanks live values
"use strict";
(() => {
  const MINUS = "\u2212", THIN = "\u202f", NONE = "\u2013";
  const root = document.documentElement;
  root.classList.add("has-script");

  // ---- numbers as the server prints them ----
  const grouped = (digits) => digits.replace(/\B(?=(\d{3})+(?!\d))/g, THIN);

  function numberText(value, decimals, signed) {
    if (value === null || value === undefined) return NONE;
    const [whole, part] = Math.abs(value).toFixed(decimals).split(".");
    const text = grouped(whole) + (part ? "." + part : "");
    if (!/[1-9]/.test(text)) return text;
    return (value < 0 ? MINUS : signed ? "+" : "") + text;
  }

  function chainageText(value, decimals) {
    if (value === null || value === undefined) return NONE;
    const scale = 10 ** decimals, rounded = Math.round(Math.abs(value) * scale);
    const rest = (rounded % (1000 * scale)) / scale;
    const width = decimals ? 4 + decimals : 3;
    return (value < 0 && rounded ? MINUS : "") + Math.floor(rounded / (1000 * scale)) + "+" + rest.toFixed(decimals).padStart(width, "0");
  }

  function readingText(reading, index) {
    const one = (value) => (reading.form === "chainage" ? chainageText(value, reading.decimals) : numberText(value, reading.decimals, reading.signed));
    if (index < 0) return one(reading.rest);
    const first = one(reading.values[index]);
    if (!reading.to || first === NONE) return first;
    const last = one(reading.to[index]);
    return last === NONE ? first : first + " to " + last;
  }

  // ---- the cursor ----
  function cursorPath(panels, places) {
    let data = "", last = null;
    panels.forEach((panel, at) => {
      const x = places[at];
      if (x === null || x === undefined) { last = null; return; }
      data += last === null ? `M${x} ${panel.top}` : `V${((last + panel.top) / 2).toFixed(1)}H${x}`;
      data += `V${panel.bottom}`;
      last = panel.bottom;
    });
    return data;
  }

  function nearest(track, x) {
    let best = -1, distance = Infinity;
    track.forEach((place, index) => {
      if (place === null) return;
      const away = Math.abs(place - x);
      if (away < distance) { distance = away; best = index; }
    });
    return best;
  }

  // On a narrow screen drawings scroll; the chosen ring is what one wants to see first.
  function bringIntoView(box, part) {
    if (!part || box.scrollWidth <= box.clientWidth) return;
    const place = part.getBoundingClientRect(), own = box.getBoundingClientRect();
    box.scrollLeft += (place.left + place.right) / 2 - (own.left + own.right) / 2;
  }

  function startCursor(script) {
    const data = JSON.parse(script.textContent);
    const svg = document.getElementById(data.figure);
    const line = svg && svg.querySelector("[data-cursor-line]");
    if (!line || !data.panels.length) return;
    let index = data.chosen;

    function show(next) {
      index = next;
      line.setAttribute("d", next < 0 ? "" : cursorPath(data.panels, data.panels.map((panel) => data.tracks[panel.track][next])));
      svg.querySelectorAll("[data-read]").forEach((text) => {
        const key = text.dataset.read;
        if (key === "heading") {
          if (data.heading) text.textContent = data.heading + " " + (next < 0 ? "" : grouped(String(data.numbers[next])));
        } else if (data.readings[key]) text.textContent = readingText(data.readings[key], next);
      });
    }

    function under(event) {
      const box = svg.getBoundingClientRect(), scale = svg.viewBox.baseVal.width / box.width;
      const x = (event.clientX - box.left) * scale, y = (event.clientY - box.top) * scale;
      // Above, below and between strips the strip nearest in height decides which of the three places is meant.
      const away = (panel) => Math.max(panel.top - y, y - panel.bottom, 0);
      const panel = data.panels.reduce((a, b) => (away(b) < away(a) ? b : a));
      const places = data.tracks[panel.track].filter((place) => place !== null);
      if (!places.length || x < Math.min(...places) - 8 || x > Math.max(...places) + 8) return -1;
      return nearest(data.tracks[panel.track], x);
    }

    if (index >= 0) bringIntoView(svg.parentElement, line);
    svg.addEventListener("pointermove", (event) => { const next = under(event); if (next >= 0) show(next); });
    svg.addEventListener("pointerleave", () => show(data.chosen));
    svg.addEventListener("click", (event) => {
      if (!data.isLink || event.target.closest("a")) return;
      const next = under(event);
      if (next >= 0) chooseRing(data.numbers[next]);
    });
    svg.addEventListener("keydown", (event) => {
      const step = { ArrowLeft: -1, ArrowRight: 1 }[event.key];
      if (!step || event.altKey || event.ctrlKey || event.metaKey) return;
      event.preventDefault();
      event.stopPropagation();
      const from = index < 0 ? (step > 0 ? -1 : data.numbers.length) : index;
      show(Math.min(Math.max(from + step, 0), data.numbers.length - 1));
    });
    svg.addEventListener("keyup", (event) => {
      if (event.key === "Enter" && data.isLink && index >= 0) chooseRing(data.numbers[index]);
    });
  }

  // ---- the address, and swapping the parts of the page ----
  let going = null;

  function chooseRing(ring) {
    const box = document.getElementById("goto-ring");
    const count = box ? Number(box.max) : Infinity;
    if (!Number.isInteger(ring) || ring < 1 || ring > count) return;
    const address = new URL(location.href);
    address.searchParams.set("ring", ring);
    address.searchParams.delete("open");
    go(address.href);
  }

  async function go(address, { push = true, focus = "" } = {}) {
    if (going) going.abort();
    const own = (going = new AbortController());
    const waiting = document.querySelector("[data-waiting]");
    const timer = setTimeout(() => {
      waiting.querySelector("span").textContent = "Reading the sheet";
      waiting.querySelector("button").onclick = () => own.abort();
      waiting.hidden = false;
    }, 300);
    try {
      const answer = await fetch(address, { signal: own.signal, headers: { Accept: "text/html" } });
      const type = answer.headers.get("content-type") || "";
      if (!answer.ok || !type.includes("html")) { location.assign(address); return; }
      swap(new DOMParser().parseFromString(await answer.text(), "text/html"));
      if (push) history.pushState(null, "", address);
      const target = focus && document.querySelector(focus);
      if (target) target.focus();
    } catch (reason) {
      if (reason.name !== "AbortError") location.assign(address);
    } finally {
      clearTimeout(timer);
      if (going === own) { going = null; waiting.hidden = true; }
    }
  }

  function swap(next) {
    const held = document.activeElement && document.activeElement.id;
    document.title = next.title;
    for (const name of ["class", "data-events"]) {
      const value = next.body.getAttribute(name);
      if (value === null) document.body.removeAttribute(name); else document.body.setAttribute(name, value);
    }
    document.querySelector(".sheet").className = next.querySelector(".sheet").className;
    document.querySelectorAll("[data-part]").forEach((part) => {
      const other = next.querySelector(`[data-part="${part.dataset.part}"]`);
      if (other) part.replaceWith(document.importNode(other, true));
    });
    const again = held && document.getElementById(held);
    if (again) again.focus({ preventScroll: true });
    start();
  }

  function isPlainClick(event) {
    return event.button === 0 && !event.defaultPrevented && !event.ctrlKey && !event.metaKey && !event.shiftKey && !event.altKey;
  }

  // Only links within our own pages that say so, or that stay on this page, are swapped; everything else is an ordinary link.
  function isSwapped(link) {
    const address = new URL(link.getAttribute("href"), location.href);
    if (address.origin !== location.origin || link.hasAttribute("download") || link.target || address.protocol === "file:") return false;
    return link.hasAttribute("data-open") || link.hasAttribute("data-close") || Boolean(link.closest("[data-part='index'], .filing-menu")) || address.pathname === location.pathname;
  }

  document.addEventListener("click", (event) => {
    const link = event.target.closest("a[href]");
    if (!link || !isPlainClick(event)) return;
    const target = link.getAttribute("href");
    if (target.startsWith("#") || !isSwapped(link)) return;
    event.preventDefault();
    go(new URL(target, location.href).href, { focus: link.hasAttribute("data-open") ? "#opened" : "" });
  });

  document.addEventListener("submit", (event) => {
    const form = event.target;
    if (form.matches(".goto")) { event.preventDefault(); chooseRing(Number(form.elements.ring.value)); return; }
    if ((form.method || "get") !== "get" || !form.hasAttribute("data-swap")) return;
    event.preventDefault();
    const address = new URL(form.getAttribute("action") || location.pathname, location.href);
    address.search = new URLSearchParams(new FormData(form)).toString();
    go(address.href);
  });

  let typing = 0;
  document.addEventListener("input", (event) => {
    const form = event.target.closest("form[data-swap]");
    if (!form) return;
    clearTimeout(typing);
    typing = setTimeout(() => form.requestSubmit(), 300);
  });

  document.addEventListener("keydown", (event) => {
    if (event.altKey || event.ctrlKey || event.metaKey) return;
    if (event.key === "Escape") {
      const close = document.querySelector("[data-close]");
      const menu = document.querySelector(".filing-menu[open]");
      if (menu) menu.open = false; else if (close) close.click();
      return;
    }
    const step = { ArrowLeft: -1, ArrowRight: 1 }[event.key];
    if (!step || event.target.closest("input, select, textarea, .table, [contenteditable]")) return;
    const box = document.getElementById("goto-ring");
    if (!box) return;
    event.preventDefault();
    chooseRing(Number(box.defaultValue || 0) + step);
  });

  addEventListener("popstate", () => go(location.href, { push: false }));

  // ---- the ring rail ----
  function startRail(rail) {
    const svg = rail.querySelector("svg"), count = Number(rail.dataset.rings);
    const strip = svg.querySelector(".ink-built-area"), planned = svg.querySelector(".ink-planned-paper");
    if (!strip || !planned || !count) return;
    bringIntoView(rail, svg.querySelectorAll(".ink-built-area")[1]);
    rail.addEventListener("click", (event) => {
      if (event.target.closest("a")) return;
      const left = strip.getBoundingClientRect().left, right = planned.getBoundingClientRect().right;
      const share = (event.clientX - left) / (right - left);
      if (share >= -0.01 && share <= 1.01) chooseRing(Math.min(Math.max(Math.ceil(share * count), 1), count));
    });
  }

  // ---- light and dark ----
  function startTheme(button) {
    const media = matchMedia("(prefers-color-scheme: dark)");
    const isDark = () => (root.dataset.theme ? root.dataset.theme === "dark" : media.matches);
    const name = () => { button.textContent = isDark() ? "light" : "dark"; };
    button.hidden = false;
    button.setAttribute("aria-label", "Switch between light and dark");
    button.onclick = () => {
      root.dataset.theme = isDark() ? "light" : "dark";
      try { localStorage.setItem("theme", root.dataset.theme); } catch { /* a private window keeps nothing */ }
      name();
    };
    name();
  }

  // ---- live ----
  let feed = null;

  function startFeed() {
    const address = document.body.dataset.events;
    if (feed && feed.url === (address && new URL(address, location.href).href)) return;
    if (feed) { feed.close(); feed = null; }
    if (!address) return;
    feed = new EventSource(address);
    const say = (words) => document.querySelectorAll("[data-live-words]").forEach((line) => { line.textContent = words; });
    feed.onopen = () => say("feed connected");
    feed.addEventListener("ring", async (event) => { await go(location.href, { push: false }); say(event.data); });
    feed.onerror = () => {
      // An old value that looks live is worse than none.
      document.querySelectorAll("[data-live]").forEach((value) => { value.textContent = NONE; });
      say("feed lost: live values are blank until it is back");
    };
  }

  function start() {
    document.querySelectorAll("script[data-cursor-of]").forEach(startCursor);
    document.querySelectorAll("[data-rail]").forEach(startRail);
    document.querySelectorAll("[data-theme-switch]").forEach(startTheme);
    startFeed();
  }

  try { const kept = localStorage.getItem("theme"); if (kept && !root.dataset.theme) root.dataset.theme = kept; } catch { /* nothing kept */ }
  start();
})();
