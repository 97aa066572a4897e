// The card without reloads: a reading is judged while it is typed, Enter records it and moves on by itself, and what
// cannot be sent is kept on this phone until it can. Every act here is also a plain form or link.

const card = document.getElementById("card");
const pad = document.getElementById("pad");
const phone = matchMedia("(max-width: 599px) and (pointer: coarse), (max-width: 599px) and (hover: none)");
const QUEUE = "racedesk.unsent";
const PATIENCE_MS = 8000;
const PAUSE_MS = 180;
const SETTLE_MS = 350; // a second tap meant for the clause before does not answer the one that has just come up

let current = document.querySelector(".clause:not([hidden])");
let ownKeyboard = false; // the phone's own keyboard was asked for, for this clause
let shownAt = 0;
let ticket = 0; // of the latest look-ahead; older answers are dropped

// ---- which clause is shown ------------------------------------------------------------------------------------------

function readingOf(pane) {
  return pane.dataset.asks === "reading" ? pane.querySelector("[data-reading]") : null;
}

function show(id, { push = true, focus = true } = {}) {
  const pane = document.getElementById(id);
  if (!pane) return;
  for (const other of document.querySelectorAll(".card-panes > .clause")) other.hidden = other !== pane;
  document.body.classList.remove("shows-list");
  current = pane;
  ownKeyboard = false;
  shownAt = performance.now();
  const place = pane.dataset.place;
  for (const mark of document.querySelectorAll(".mark")) mark.classList.toggle("is-current", mark.dataset.place === place);
  for (const row of document.querySelectorAll(".clauses > li")) row.classList.toggle("current", row.dataset.place === place);
  const where = document.querySelector("[data-where]");
  const count = document.querySelectorAll(".card-panes > .clause[data-asks]").length;
  if (where && pane.dataset.asks) where.textContent = card.dataset.of.replace("{place}", place).replace("{count}", count);
  const back = document.querySelector(".show-clause");
  if (back) back.href = `?at=${place}`;
  if (push) history.pushState({ id }, "", `?at=${place}`);
  setPad();
  scrollTo(0, 0);
  if (!focus) return;
  const field = readingOf(pane);
  (field ?? pane).focus({ preventScroll: true });
}

function setPad() {
  const field = current && readingOf(current);
  const wanted = Boolean(field) && phone.matches && !ownKeyboard && !document.body.classList.contains("shows-list");
  document.body.classList.toggle("has-pad", wanted);
  pad.hidden = !wanted;
  if (field) {
    field.dataset.mode ??= field.getAttribute("inputmode");
    field.setAttribute("inputmode", wanted ? "none" : field.dataset.mode);
  }
  if (wanted) pad.querySelector("[data-pad-next]").textContent = current.dataset.next;
}

// ---- the number pad -------------------------------------------------------------------------------------------------

function typeIn(field, text, { erase = false } = {}) {
  const start = erase && field.selectionStart === field.selectionEnd ? Math.max(field.selectionStart - 1, 0) : field.selectionStart;
  field.setRangeText(text, start, field.selectionEnd, "end");
  field.dispatchEvent(new Event("input", { bubbles: true }));
}

pad.addEventListener("click", (event) => {
  const key = event.target.closest("button");
  const field = current && readingOf(current);
  if (!key || !field) return;
  field.focus({ preventScroll: true });
  if ("type" in key.dataset) typeIn(field, key.dataset.type);
  else if ("delete" in key.dataset) typeIn(field, "", { erase: true });
  else field.form.requestSubmit();
});
pad.addEventListener("pointerdown", (event) => event.preventDefault()); // the field keeps the focus

// Touching the field itself asks for the phone's own keyboard: letters, fractions.
document.addEventListener("pointerup", (event) => {
  const field = event.target.closest?.("[data-reading]");
  if (!field || !document.body.classList.contains("has-pad")) return;
  ownKeyboard = true;
  setPad();
  field.blur();
  field.focus();
});

// ---- the verdict while typing ---------------------------------------------------------------------------------------

let pause = 0;
document.addEventListener("input", (event) => {
  const field = event.target.closest("[data-reading]");
  if (field) field.classList.toggle("is-long", field.value.length > 6);
  if (event.target.name === "gauge") {
    const unit = event.target.selectedOptions[0]?.dataset.unit;
    const choice = event.target.form.elements.unit;
    if (unit && choice) choice.value = unit;
  }
  const form = event.target.form;
  if (!form?.dataset.assess) return;
  clearTimeout(pause);
  pause = setTimeout(() => lookAhead(form), PAUSE_MS);
});

async function lookAhead(form) {
  const mine = ++ticket;
  const query = new URLSearchParams(new FormData(form));
  query.delete("csrfmiddlewaretoken");
  try {
    const response = await fetch(`${form.dataset.assess}?${query}`, { headers: { "X-Requested-With": "fetch" } });
    if (mine !== ticket || !response.ok) return;
    const typed = query.get("text");
    const html = await response.text();
    if (mine === ticket && form.elements.text.value === typed) put(html);
  } catch {
    // Without the server there is no verdict ahead of time; the reading is recorded all the same.
  }
}

// ---- recording ------------------------------------------------------------------------------------------------------

// Each part of an answer replaces the one of the same id; what the page shows stays shown. An answer to something sent
// late leaves the clause alone that is being typed for.
function put(html, { late = false } = {}) {
  const parts = new DOMParser().parseFromString(html, "text/html");
  for (const part of [...parts.body.children]) {
    const old = part.id && document.getElementById(part.id);
    if (!old || (late && old === current)) continue;
    if (old.classList.contains("clause")) part.hidden = old.hidden;
    const fresh = document.importNode(part, true);
    old.replaceWith(fresh);
    if (old === current) current = fresh;
  }
  return parts;
}

document.addEventListener("submit", async (event) => {
  const form = event.target.closest("[data-answer]");
  if (!form) return;
  event.preventDefault();
  if (form.dataset.busy) return;
  if (event.submitter?.matches(".tap") && performance.now() - shownAt < SETTLE_MS) return;
  form.dataset.busy = "1";
  clearTimeout(pause);
  ticket += 1;
  const body = new URLSearchParams(new FormData(form, event.submitter));
  const pane = form.closest(".clause");
  try {
    await send(form.action, body, pane);
  } catch {
    keep(form.action, body, pane.dataset.words);
    for (const key of form.querySelectorAll('[name="client_key"]')) key.value = newKey();
    form.reset();
    show(pane.dataset.go);
  } finally {
    delete form.dataset.busy;
  }
});

function post(address, body) {
  const token = document.querySelector('[name="csrfmiddlewaretoken"]');
  if (token) body.set("csrfmiddlewaretoken", token.value);
  return fetch(address, {
    method: "POST",
    body,
    headers: { "X-Requested-With": "fetch" },
    redirect: "error",
    signal: AbortSignal.timeout(PATIENCE_MS),
  });
}

async function send(address, body, pane) {
  const response = await post(address, body);
  const html = await response.text();
  if (response.status === 422) {
    put(html);
    const field = readingOf(pane);
    if (field) field.select();
    return;
  }
  const go = response.headers.get("X-Go");
  if (!response.ok || !go) throw new Error(String(response.status));
  const parts = put(html);
  const last = parts.querySelector("[data-last-found]");
  show(go);
  const note = current.querySelector("[data-last]");
  if (last && note) note.replaceChildren(...document.importNode(last.content, true).childNodes);
  if (document.activeElement !== readingOf(current)) current.focus({ preventScroll: true });
}

// ---- what could not be sent -----------------------------------------------------------------------------------------

function newKey() {
  return [...crypto.getRandomValues(new Uint8Array(12))].map((byte) => byte.toString(16).padStart(2, "0")).join("");
}

function unsent() {
  try {
    return JSON.parse(localStorage.getItem(QUEUE)) ?? [];
  } catch {
    return [];
  }
}

function setUnsent(items) {
  try {
    localStorage.setItem(QUEUE, JSON.stringify(items));
  } catch {
    // A phone that keeps nothing still shows what was not sent, below.
  }
  showUnsent(items);
}

function keep(address, body, words) {
  body.delete("csrfmiddlewaretoken");
  setUnsent([...unsent(), { address, body: String(body), words, typed: body.get("text") ?? body.get("passes") }]);
}

function showUnsent(items) {
  const note = document.getElementById("unsent");
  note.hidden = items.length === 0;
  if (note.hidden) return;
  const list = document.createElement("ul");
  for (const [place, item] of items.entries()) {
    const row = document.createElement("li");
    const head = document.createElement("b");
    head.textContent = `${item.refused ? card.dataset.refused : card.dataset.unsent}: `;
    row.append(head, `${item.words} ${item.typed}`);
    if (item.refused) {
      const drop = document.createElement("button");
      drop.type = "button";
      drop.className = "word";
      drop.textContent = card.dataset.drop;
      drop.addEventListener("click", () => setUnsent(unsent().filter((_item, other) => other !== place)));
      row.append(`. ${item.refused} `, drop);
      if (item.meanwhile) {
        // Another station was quicker while the line was down: this reading stands only when somebody says so.
        const stands = document.createElement("button");
        stands.type = "button";
        stands.className = "word";
        stands.textContent = card.dataset.stands.replace("{typed}", item.typed);
        stands.addEventListener("click", () => {
          setUnsent(unsent().map((one, other) => (other === place ? replacing(one) : one)));
          flush();
        });
        row.append(" ", stands);
      }
    }
    list.append(row);
  }
  const words = document.createElement("p");
  words.className = "soft small";
  words.textContent = card.dataset.kept;
  note.replaceChildren(list, ...(items.some((item) => !item.refused) ? [words] : []));
}

function replacing({ address, body, words, typed }) {
  const again = new URLSearchParams(body);
  again.set("replaces", "1");
  return { address, body: String(again), words, typed };
}

let flushing = false;
async function flush() {
  if (flushing) return;
  flushing = true;
  try {
    for (let items = unsent(); items.some((item) => !item.refused); items = unsent()) {
      const item = items.find((one) => !one.refused);
      const response = await post(item.address, new URLSearchParams(item.body));
      const html = await response.text();
      const is = (one) => one.body === item.body;
      if (response.ok && response.headers.has("X-Go")) {
        setUnsent(unsent().filter((one) => !is(one)));
        if (item.address.includes(`/${card.dataset.card}/`)) put(html, { late: true });
      } else if (response.status === 422) {
        const why = new DOMParser().parseFromString(html, "text/html").body.textContent.trim().split("\n")[0];
        const meanwhile = html.includes("data-meanwhile");
        setUnsent(unsent().map((one) => (is(one) ? { ...one, refused: why, meanwhile } : one)));
      } else break;
    }
  } catch {
    // Still no line: the next round tries again.
  } finally {
    flushing = false;
  }
}

addEventListener("online", flush);
setInterval(flush, 5000);
showUnsent(unsent());
flush();

// ---- moving about ---------------------------------------------------------------------------------------------------

document.addEventListener("click", (event) => {
  const link = event.target.closest("a[data-go]");
  if (link && !event.ctrlKey && !event.metaKey && document.getElementById(link.dataset.go)) {
    event.preventDefault();
    show(link.dataset.go);
  }
});

addEventListener("popstate", () => location.reload());

// Words by one key at the desk: y or n, g or n, when no field has the focus.
document.addEventListener("keydown", (event) => {
  if (event.ctrlKey || event.metaKey || event.altKey || event.target.closest("input, textarea, select")) return;
  const key = current?.querySelector(`[data-key="${CSS.escape(event.key.toLowerCase())}"]`);
  if (key && !document.body.classList.contains("shows-list")) key.click();
});

phone.addEventListener("change", setPad);
if (current) {
  setPad();
  const field = readingOf(current);
  if (field && !document.body.classList.contains("shows-list")) field.focus({ preventScroll: true });
}
