// Reads typed laps back while they are typed, so that they can be saved with one press.

const waiting = new WeakMap();

async function readBack(input, address) {
  const output = input.parentElement.querySelector("output");
  const echoed = input.parentElement.querySelector("input[type=hidden]");
  echoed.value = "";
  const text = input.value.trim();
  if (!text) {
    output.textContent = "";
    return;
  }
  try {
    const query = new URLSearchParams({ lane: input.dataset.lane, text });
    const response = await fetch(`${address}?${query}`, { headers: { Accept: "application/json" } });
    if (!response.ok || input.value.trim() !== text) return;
    const { echo, error, question } = await response.json();
    output.textContent = error || question || echo;
    output.classList.toggle("is-wrong", Boolean(error || question));
    if (!error && !question) echoed.value = text;
  } catch {
    // Without an answer the page reads it back before it saves.
  }
}

export function readBackIn(root, address) {
  root.addEventListener("input", (event) => {
    const input = event.target;
    if (!input.matches(".laps-input")) return;
    clearTimeout(waiting.get(input));
    waiting.set(input, setTimeout(readBack, 150, input, address));
  });
  // Enter goes on to the next lane, and from the last one sends.
  root.addEventListener("keydown", (event) => {
    if (event.key !== "Enter" || !event.target.matches?.(".laps-input")) return;
    const fields = [...root.querySelectorAll(".laps-input")].filter((each) => !each.closest("[hidden]"));
    const next = fields[fields.indexOf(event.target) + 1];
    if (!next) return;
    event.preventDefault();
    next.focus();
  });
}

const page = document.querySelector("form[data-echo]");
if (page) readBackIn(page, page.dataset.echo);
