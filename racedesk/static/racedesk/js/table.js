// The director's table: runs the clock, sends each press once and until it is through, follows what others press.

import { HeatClock, face, fineFace, follow } from "./clock.js";
import { readBackIn } from "./laps.js";
import { isOn, sounds, turnOff, turnOn } from "./sound.js";

const table = document.getElementById("table");
const clock = new HeatClock(JSON.parse(table.dataset.facts), Number(table.dataset.now));
const clockFace = document.querySelector("[data-clock-face]");
const phaseWord = document.querySelector("[data-phase-word]");
const trouble = document.querySelector("[data-trouble]");
const unsent = document.querySelector("[data-unsent]");
const changeover = document.querySelector("[data-changeover]");
const changeoverFace = document.querySelector("[data-changeover-face]");
const soundButton = document.querySelector("[data-sound]");

const RETRY_MS = 1000;
const GIVE_UP_MS = 60_000;
const BOUNCE_MS = 400; // a second press this soon is a shaking finger

let shownPhase = null;
let lastPress = 0;

// --- showing the time ------------------------------------------------------------------------------------

function setText(node, text) {
  if (node && node.textContent !== text) node.textContent = text;
}

function showPhase(phase) {
  for (const node of document.querySelectorAll("[data-when]")) {
    node.hidden = !node.dataset.when.split(" ").includes(phase);
  }
  table.dataset.phase = phase;
}

const heard = { second: null, warning: false, changeover: null };

function sound(phase, now) {
  if (shownPhase !== null && phase !== shownPhase) {
    if (phase === "running") sounds.green();
    if (phase === "ended" && shownPhase === "running") sounds.end();
    if (phase === "track_call") sounds.call();
  }
  if (phase === "countdown") {
    const second = Math.ceil(clock.untilGreen(now) / 1000);
    if (second !== heard.second) sounds.second();
    heard.second = second;
  } else {
    heard.second = null;
  }
  const isWarning = clock.isWarning(now);
  if (isWarning && !heard.warning) sounds.warning();
  heard.warning = isWarning;
  const isChanging = clock.changeoverLeft(now) > 0;
  if (heard.changeover && !isChanging && ["waiting", "ready"].includes(phase)) sounds.changeover();
  heard.changeover = isChanging;
}

function tick() {
  const now = clock.now();
  const phase = clock.phase(now);
  sound(phase, now);
  if (phase !== shownPhase) {
    const wasRunning = shownPhase === "running";
    showPhase(phase);
    shownPhase = phase;
    if (phase === "ended" && wasRunning) document.querySelector(".laps-input")?.focus();
  }
  setText(phaseWord, table.dataset[clock.isWarning(now) ? "wordWarning" : wordKey(phase)]);
  const left = clock.left(now);
  setText(clockFace, phase === "countdown" ? `−${Math.ceil(clock.untilGreen(now) / 1000)}` : fineFace(left));
  for (const node of document.querySelectorAll("[data-held]")) setText(node, face(clock.held(now)));
  const gone = document.querySelector("[data-bar-gone]");
  if (gone) {
    const x = (clock.elapsed(now) / clock.facts.length_ms) * Number(gone.dataset.barWidth);
    gone.setAttribute("width", x.toFixed(1));
    for (const label of document.querySelectorAll("[data-bar-label]")) {
      label.setAttribute("visibility", x - Number(label.dataset.barLabel) > 118 ? "visible" : "hidden");
    }
  }
  const until = clock.changeoverLeft(now);
  const shows = until > 0 && ["waiting", "ready", "ended", "closed"].includes(phase);
  changeover.hidden = !shows;
  if (shows) setText(changeoverFace, face(until));
  requestAnimationFrame(tick);
}

function wordKey(phase) {
  return `word${phase[0].toUpperCase()}${phase.slice(1)}`;
}

// --- parts from the server -------------------------------------------------------------------------------

function isBusy(part) {
  const typed = [...part.querySelectorAll("input:not([type=hidden]), select, textarea")];
  return typed.some((field) => field.value !== (field.defaultValue ?? "") && field.value !== "");
}

function take(news) {
  if (news.gone) {
    window.location.reload();
    return;
  }
  clock.facts = news.clock;
  for (const [name, html] of Object.entries(news.parts)) {
    const part = document.querySelector(`[data-part="${name}"]`);
    if (!part || isBusy(part)) continue;
    const focused = part.contains(document.activeElement) ? document.activeElement.id : "";
    const open = [...part.querySelectorAll("details")].map((each) => each.open);
    part.innerHTML = html;
    part.querySelectorAll("details").forEach((each, i) => (each.open = open[i] ?? false));
    if (focused) document.getElementById(focused)?.focus();
  }
  showPhase(clock.phase(clock.now()));
}

const following = follow(table.dataset.feed, clock, table.dataset.version, {
  onNews: take,
  onTrouble: (isTrouble) => {
    table.classList.toggle("is-cut-off", isTrouble);
  },
});

// --- sending presses -------------------------------------------------------------------------------------

function newKey() {
  const bytes = crypto.getRandomValues(new Uint8Array(12));
  return [...bytes].map((byte) => byte.toString(16).padStart(2, "0")).join("");
}

async function send(form) {
  const body = new FormData(form);
  body.set("client_key", newKey());
  const pressedAt = Date.now();
  for (;;) {
    body.set("age_ms", String(Date.now() - pressedAt));
    const sentAt = Date.now();
    try {
      const response = await fetch(form.action, { method: "POST", body, headers: { Accept: "application/json" } });
      const isJson = response.headers.get("Content-Type")?.includes("json");
      if (response.ok && !isJson) {
        window.location.reload(); // signed out meanwhile
        return;
      }
      if (isJson) {
        const news = await response.json();
        clock.learn(news.now_ms, sentAt, Date.now());
        following.version = news.version;
        trouble.hidden = !news.error;
        trouble.textContent = news.error ?? "";
        unsent.hidden = true;
        form.reset();
        form.closest("details")?.removeAttribute("open");
        take(news);
        return;
      }
      if (response.status < 500) {
        window.location.reload();
        return;
      }
    } catch {
      // The connection is gone: the same press is sent again.
    }
    if (Date.now() - pressedAt > GIVE_UP_MS) {
      unsent.hidden = true;
      trouble.textContent = table.dataset.wordLost;
      trouble.hidden = false;
      return;
    }
    unsent.hidden = false;
    await new Promise((resolve) => setTimeout(resolve, RETRY_MS));
  }
}

document.addEventListener("submit", (event) => {
  const form = event.target;
  if (!form.matches("form[data-command]")) return;
  event.preventDefault();
  const now = Date.now();
  if (now - lastPress < BOUNCE_MS) return;
  lastPress = now;
  send(form);
});

// A missed duty is told without leaving the page, so that laps typed and not yet saved stay where they are.
document.addEventListener("submit", async (event) => {
  const form = event.target;
  if (!form.matches("form.missed")) return;
  event.preventDefault();
  const button = form.querySelector("button");
  button.disabled = true;
  try {
    const response = await fetch(form.action, { method: "POST", body: new FormData(form) });
    const page = new DOMParser().parseFromString(await response.text(), "text/html");
    const side = page.querySelector('[data-part="side"]');
    if (!response.ok || !side) throw new Error(String(response.status));
    document.querySelector('[data-part="side"]').innerHTML = side.innerHTML;
    trouble.hidden = true;
  } catch {
    button.disabled = false;
    trouble.textContent = table.dataset.wordNotTold;
    trouble.hidden = false;
  }
});

// --- keys ------------------------------------------------------------------------------------------------

function isTyping(node) {
  return node.matches?.("input:not([type=hidden]), select, textarea, [contenteditable]");
}

document.addEventListener("keydown", (event) => {
  if (event.ctrlKey || event.altKey || event.metaKey) return;
  const node = document.activeElement;
  if (isTyping(node)) return;
  // Whoever moves by the keyboard sees what is in focus, and its own key acts on that.
  const isOwn = (event.key === " " || event.key === "Enter") && node.matches("button, a, summary") && node.matches(":focus-visible");
  if (isOwn) return;
  const wanted = event.key === "Enter" ? ["enter", "s"] : [event.key.toLowerCase()];
  const target = [...document.querySelectorAll("[data-key]")].find(
    (each) => wanted.includes(each.dataset.key) && !each.closest("[hidden]"),
  );
  if (!target) {
    if (event.key === " " && table.contains(node)) event.preventDefault();
    return;
  }
  event.preventDefault();
  if (!event.repeat) target.click();
});

// --- sound -----------------------------------------------------------------------------------------------

function showSound() {
  setText(soundButton, isOn() ? soundButton.dataset.on : soundButton.dataset.off);
  soundButton.setAttribute("aria-pressed", String(isOn()));
}

function remember(value) {
  try {
    localStorage.setItem("sound", value);
  } catch {
    // Holds for this page alone.
  }
}

soundButton.addEventListener("click", async () => {
  if (isOn()) {
    await turnOff();
    remember("off");
  } else if (await turnOn()) {
    sounds.second();
    remember("on");
  }
  showSound();
});

// The first touch or key of the page lets it sound, where the director has not said otherwise.
function firstTouch() {
  if (soundWish() !== "off" && !isOn()) turnOn().then(showSound);
}
document.addEventListener("pointerdown", firstTouch, { once: true });
document.addEventListener("keydown", firstTouch, { once: true });

function soundWish() {
  try {
    return localStorage.getItem("sound");
  } catch {
    return null;
  }
}
soundButton.hidden = false;
if (soundWish() === "on") turnOn().then(showSound);

readBackIn(document, table.dataset.echo);
showSound();
requestAnimationFrame(tick);
