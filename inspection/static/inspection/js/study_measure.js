// A study without reloads: Enter sends the reading and the next part stands there, the field still in use. What is
// lost on the way can be sent again as it is: the same reading for the same part counts once.

const form = document.getElementById("reading-form");
const field = form.elements.text;
const pad = document.getElementById("pad");
const phone = matchMedia("(max-width: 599px) and (pointer: coarse), (max-width: 599px) and (hover: none)");
const PATIENCE_MS = 8000;
const PARTS = ["prompt", "carry", "before"];
let busy = false;

function place() {
  return form.elements.place.value;
}

function setPad(wanted = phone.matches) {
  document.body.classList.toggle("has-pad", wanted);
  pad.hidden = !wanted;
  field.setAttribute("inputmode", wanted ? "none" : "decimal");
}

pad.addEventListener("pointerdown", (event) => event.preventDefault()); // the field keeps the focus
pad.addEventListener("click", (event) => {
  const key = event.target.closest("button");
  if (!key) return;
  field.focus({ preventScroll: true });
  if ("type" in key.dataset) field.setRangeText(key.dataset.type, field.selectionStart, field.selectionEnd, "end");
  else if ("delete" in key.dataset) {
    const start = field.selectionStart === field.selectionEnd ? Math.max(field.selectionStart - 1, 0) : field.selectionStart;
    field.setRangeText("", start, field.selectionEnd, "end");
  } else form.requestSubmit();
});

// Touching the field itself asks for the phone's own keyboard: letters, fractions.
field.addEventListener("pointerup", () => {
  if (!document.body.classList.contains("has-pad")) return;
  setPad(false);
  field.setAttribute("inputmode", "text");
  field.blur();
  field.focus();
});

function tell(words) {
  const line = document.createElement("p");
  line.className = "study-wrong";
  line.textContent = words;
  document.getElementById("told").replaceChildren(line);
}

form.addEventListener("submit", async (event) => {
  event.preventDefault();
  if (busy) return;
  busy = true;
  const asked = place();
  try {
    const body = new URLSearchParams(new FormData(form));
    const response = await fetch(form.action, { method: "POST", body, signal: AbortSignal.timeout(PATIENCE_MS) });
    const page = new DOMParser().parseFromString(await response.text(), "text/html");
    if (!page.getElementById("measuring")) {
      location.assign(response.url);
      return;
    }
    for (const id of PARTS) document.getElementById(id).replaceWith(document.importNode(page.getElementById(id), true));
    if (response.ok || place() !== asked) {
      field.value = "";
      history.replaceState(null, "", form.action);
      setPad();
    } else field.select();
    dress();
    field.focus({ preventScroll: true });
  } catch {
    tell(form.dataset.unsent);
  } finally {
    busy = false;
  }
});

function dress() {
  pad.querySelector("[data-pad-next]").textContent = document.getElementById("prompt").dataset.follows;
  pad.querySelector("small").hidden = !document.getElementById("prompt").dataset.follows;
  const part = document.querySelector(".study-part");
  part.classList.toggle("is-long", part.textContent.length > 16);
}

setPad();
dress();
